// The drawing of "capacitor": the voltage at the board's pin over time, while the step lasts and after it.
#include <algorithm>
#include <vector>

#include <fmt/format.h>

#include "plan/capacitor_plan.h"
#include "plan/quantity_text.h"
#include "plan/svg.h"

namespace rookery::plan {
namespace {

constexpr double kLeft = 70;
constexpr double kStart = 190;  // the step begins
constexpr double kEnd = 460;    // the step ends
constexpr double kRight = 560;
constexpr double kTop = 50;  // the voltage before the step
constexpr double kBottom = 210;

// A fall in px below kTop.
struct Scale {
  Volts most;

  double y(Volts fall) const { return kTop + (kBottom - kTop) * std::clamp((fall / most).value(), 0.0, 1.0); }
};

// The voltage while the step lasts, point by point.
std::vector<Point> voltage_of(const CapacitorPlan& plan, const Scale& scale) {
  std::vector<Point> points{{kLeft, kTop}, {kStart, kTop}};
  for (int i = 0; i <= 60; ++i) {
    const double share = i / 60.0;
    points.push_back({kStart + (kEnd - kStart) * share,
                      scale.y(plan.fall(plan.size, plan.esr, plan.step.duration * share))});
  }
  return points;
}

}  // namespace

std::string capacitor_drawing(const CapacitorPlan& plan) {
  Svg svg(640, 290, "The voltage at the board's pin while the step of current lasts");
  const Volts fall = plan.fall(plan.size, plan.esr);
  const Volts at_once = plan.fall_at_once();
  const Scale scale{1.15 * std::max(std::min(fall, plan.voltage), plan.allowed)};
  const bool outside = fall > plan.allowed;
  const Ink ink = outside ? Ink::accent : Ink::trace;

  svg.rect({kStart, kTop - 20}, kEnd - kStart, kBottom - kTop + 20, Ink::none, Ink::wash);
  svg.line({kLeft, kBottom}, {kRight, kBottom}, Ink::line)
      .line({kLeft, kTop - 20}, {kLeft, kBottom}, Ink::line);
  svg.text({kLeft - 8, kTop + 4}, shown(plan.voltage), Anchor::end, 12);
  svg.line({kLeft, scale.y(plan.allowed)}, {kRight, scale.y(plan.allowed)}, Ink::soft, 1.5, true);
  svg.text({kLeft + 6, scale.y(plan.allowed) + 15}, fmt::format("−{} allowed", shown(plan.allowed)),
           Anchor::start, 12, Ink::soft);

  if (plan.path) {
    // What it would be without the supply; it soon leaves the drawing.
    const Volts alone = sag(plan.step, plan.size, plan.esr);
    const double share = std::clamp(
        ((scale.most - plan.step.current * plan.esr) / (alone - plan.step.current * plan.esr)).value(), 0.0,
        1.0);
    svg.line({kStart, scale.y(plan.step.current * plan.esr)},
             {kStart + (kEnd - kStart) * share, scale.y(share < 1 ? scale.most : alone)}, Ink::soft, 1.5,
             true);
  }
  std::vector<Point> points = voltage_of(plan, scale);
  points.push_back({kEnd, scale.y(fall - at_once)});
  svg.polyline(points, ink, 2.5);
  svg.line({kEnd, scale.y(fall - at_once)}, {kRight, kTop}, ink, 1.5, true);
  svg.text({kEnd + 8, std::min(scale.y(fall) + 4, kBottom - 6)}, fmt::format("−{}", shown(fall)),
           Anchor::start, 14, ink);
  svg.text({(kStart + kEnd) / 2, kTop - 26},
           fmt::format("{} more, for {}", shown(plan.step.current), shown(plan.step.duration)),
           Anchor::middle);
  svg.measure({kStart, kBottom + 32}, {kEnd, kBottom + 32}, shown(plan.step.duration));
  std::string words = fmt::format("{} at the board", shown(plan.size, 2));
  if (plan.path) words += "; dashed: if nothing came from the supply";
  svg.text({kLeft, 276}, words, Anchor::start, 13, Ink::soft);
  return svg.done();
}

}  // namespace rookery::plan
