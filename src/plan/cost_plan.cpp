#include "plan/cost_plan.h"

#include <cmath>

#include <fmt/format.h>

namespace rookery::plan {

Fleet CostPlan::fleet_of(int cameras) const {
  // A tenth of ten is one, whatever the last digit says.
  return {cameras, static_cast<int>(std::ceil(cameras * spare_share - 1e-9))};
}

double CostPlan::total_for(const Fleet& other) const {
  double sum = 0;
  for (const Part& part : list.parts) sum += cost_of(part, other).cost;
  return sum;
}

double CostPlan::in_one() const {
  double sum = 0;
  for (const Part& part : list.parts) {
    if (part.cameras == 1) sum += part.quantity * part.each();
  }
  return sum;
}

std::string CostPlan::amount(double money) const {
  const std::string number = show_value(money, Kind::money);
  return list.money.empty() ? number : fmt::format("{} {}", number, list.money);
}

CostParts parted(const CostPlan& plan) {
  CostParts out;
  out.in_cameras = plan.in_one() * plan.fleet.cameras;
  out.in_spares = plan.in_one() * plan.fleet.spares;
  for (const Part& part : plan.list.parts) {
    const PartCost cost = cost_of(part, plan.fleet);
    out.left_over += cost.left_over;
    if (part.cameras > 1) out.in_groups += cost.needed * part.each();
    if (part.shared()) out.in_shared += cost.needed * part.each();
  }
  return out;
}

}  // namespace rookery::plan
