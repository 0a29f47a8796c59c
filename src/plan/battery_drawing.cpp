// The drawing of "battery": where the charge that is printed on it goes.
#include <vector>

#include <fmt/format.h>

#include "plan/battery_plan.h"
#include "plan/quantity_text.h"
#include "plan/svg.h"

namespace rookery::plan {
namespace {

struct Share {
  std::string words;
  Joules energy;
  Ink ink;
};

std::vector<Share> parts_of(const BatteryPlan& plan) {
  const Joules printed = energy_printed(plan.capacity, plan.cell);
  const Joules out = plan.energy() * plan.efficiency;
  const double share_awake = std::min((plan.duty.awake_for / plan.duty.every).value(), 1.0);
  const auto share_of = [&](Amperes current) { return (current / plan.mean()).value(); };
  std::vector<Share> parts;
  if (plan.idle && plan.bank)
    parts.push_back({"taken by bank or converter itself", out * share_of(plan.idle_out()), Ink::line});
  if (plan.stills) {
    parts.push_back({"taking stills", out * share_of(plan.duty.awake * share_awake), Ink::trace});
    parts.push_back({"asleep", out * share_of(plan.duty.asleep * (1 - share_awake)), Ink::wash});
    if (plan.goes_off())
      parts.push_back({"keeping the bank awake", out * share_of(plan.pulsed().mean()), Ink::accent});
  } else {
    parts.push_back({"streaming", out * share_of(plan.streaming), Ink::trace});
  }
  parts.push_back({"lost in the converter", plan.energy() * (1 - plan.efficiency), Ink::soft});
  parts.push_back(
      {"kept back by the cold", printed * (plan.health * (1 - share_in_the_cold(plan.air))), Ink::line});
  parts.push_back({"lost to age", printed * (1 - plan.health), Ink::paper});
  std::erase_if(parts, [&](const Share& part) { return part.energy < 0.0005 * printed; });
  return parts;
}

}  // namespace

std::string battery_drawing(const BatteryPlan& plan) {
  const std::vector<Share> parts = parts_of(plan);
  const Joules printed = energy_printed(plan.capacity, plan.cell);
  constexpr double kLeft = 20;
  constexpr double kWidth = 600;
  const std::size_t rows = (parts.size() + 1) / 2;
  Svg svg(640, 150 + 28 * static_cast<double>(rows), "Where the charge goes");
  svg.text({kLeft, 26},
           fmt::format("{} printed, {}: lasts {}", shown(plan.capacity), shown(printed),
                       hours_or_days(lasts(plan.at_output(), plan.mean()))),
           Anchor::start, 15);
  double x = kLeft;
  for (const Share& part : parts) {
    const double share = (part.energy / printed).value();
    svg.rect({x, 44}, share * kWidth, 60, Ink::line, part.ink);
    x += share * kWidth;
  }
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const double left = i % 2 == 0 ? kLeft : kLeft + kWidth / 2;
    const std::size_t row = i / 2;
    const double y = 126 + 28 * static_cast<double>(row);
    svg.rect({left, y}, 16, 16, Ink::line, parts[i].ink);
    svg.text({left + 24, y + 13}, fmt::format("{:.0f} % {} ({})", (parts[i].energy / printed).value() * 100,
                                              parts[i].words, shown(parts[i].energy)));
  }
  return svg.done();
}

}  // namespace rookery::plan
