// Where the money goes: a bar for each part, largest first.
#include <algorithm>

#include <fmt/format.h>

#include "plan/cost_plan.h"
#include "plan/svg.h"

namespace rookery::plan {
namespace {

constexpr std::size_t kMostBars = 12;
constexpr double kLeft = 190;
constexpr double kWidth = 200;
constexpr double kRow = 24;

struct Bar {
  std::string name;
  double cost = 0;
  bool shared = false;
};

std::vector<Bar> bars_of(const CostPlan& plan) {
  std::vector<Bar> bars;
  for (const Part& part : plan.list.parts)
    bars.push_back({part.name, cost_of(part, plan.fleet).cost, part.cameras != 1});
  std::stable_sort(bars.begin(), bars.end(), [](const Bar& a, const Bar& b) { return a.cost > b.cost; });
  if (bars.size() > kMostBars) {
    Bar rest{fmt::format("{} others", bars.size() - kMostBars + 1), 0, false};
    for (std::size_t i = kMostBars - 1; i < bars.size(); ++i) rest.cost += bars[i].cost;
    bars.resize(kMostBars - 1);
    bars.push_back(rest);
  }
  return bars;
}

}  // namespace

std::string cost_drawing(const CostPlan& plan) {
  const std::vector<Bar> bars = bars_of(plan);
  const double total = plan.total();
  const double longest = std::max_element(bars.begin(), bars.end(), [](const Bar& a, const Bar& b) {
                           return a.cost < b.cost;
                         })->cost;
  Svg svg(560, 62 + kRow * static_cast<double>(bars.size()),
          fmt::format("Shares of {}: {} first", plan.amount(total), bars.front().name));
  svg.text({10, 22},
           fmt::format("{} for {} camera{}", plan.amount(total), plan.fleet.cameras,
                       plan.fleet.cameras == 1 ? "" : "s") +
               (plan.fleet.spares > 0 ? fmt::format(" and {} spare", plan.fleet.spares) : ""),
           Anchor::start, 14, Ink::trace);
  double y = 38;
  for (const Bar& bar : bars) {
    svg.text({kLeft - 8, y + 15}, shortened(bar.name, 24), Anchor::end, 12);
    const double width = longest > 0 ? kWidth * bar.cost / longest : 0;
    svg.rect({kLeft, y + 2}, std::max(width, 1.0), kRow - 6, Ink::trace, bar.shared ? Ink::paper : Ink::wash);
    svg.text({kLeft + width + 8, y + 15},
             total > 0
                 ? fmt::format("{} · {}", plan.amount(bar.cost), show_value(bar.cost / total, Kind::ratio, 2))
                 : plan.amount(bar.cost),
             Anchor::start, 12, Ink::soft);
    y += kRow;
  }
  svg.text({kLeft, y + 14}, "filled: in each camera; empty: serves several", Anchor::start, 11, Ink::soft);
  return svg.done();
}

}  // namespace rookery::plan
