// The fullest channel against the number of cameras: others at the bottom, cameras on top, the limit across.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "plan/radio_plan.h"
#include "plan/svg.h"

namespace rookery::plan {
namespace {

constexpr double kLeft = 60;
constexpr double kRight = 540;
constexpr double kTop = 44;
constexpr double kBottom = 240;

// A step of 1, 2 or 5 times a power of ten that parts `most` into `parts` at most.
int tick_step(int most, int parts) {
  for (int power = 1;; power *= 10) {
    for (const int digit : {1, 2, 5}) {
      if (most <= parts * digit * power) return digit * power;
    }
  }
}

struct Plot {
  int most_cameras;
  double most_share;

  double x(double cameras) const { return kLeft + (kRight - kLeft) * cameras / most_cameras; }
  double y(double share) const { return kBottom - (kBottom - kTop) * share / most_share; }
};

void draw_axes(Svg& svg, const Plot& plot) {
  svg.line({kLeft, kBottom}, {kRight, kBottom}, Ink::line).line({kLeft, kTop}, {kLeft, kBottom}, Ink::line);
  const int most_percent = static_cast<int>(plot.most_share * 100);
  const int step_y = std::max(tick_step(most_percent, 5), 20);
  for (int percent = 0; percent <= most_percent; percent += step_y) {
    svg.text({kLeft - 6, plot.y(percent / 100.0) + 4},
             most_percent < 5000 ? fmt::format("{} %", percent) : fmt::format("{} ×", percent / 100),
             Anchor::end, 12, Ink::soft);
  }
  const int step_x = tick_step(plot.most_cameras, 6);
  for (int cameras = 0; cameras <= plot.most_cameras; cameras += step_x) {
    svg.line({plot.x(cameras), kBottom}, {plot.x(cameras), kBottom + 4}, Ink::line);
    svg.text({plot.x(cameras), kBottom + 17}, std::to_string(cameras), Anchor::middle, 12, Ink::soft);
  }
  svg.text({(kLeft + kRight) / 2, kBottom + 34}, "cameras in all", Anchor::middle, 12, Ink::soft);
}

}  // namespace

std::string radio_drawing(const RadioPlan& plan) {
  const int fit = plan.fit();
  const double asked = plan.fullest() + plan.others;
  const int most = std::max({plan.cameras, std::min(fit, std::max(3 * plan.cameras, 12)), 3}) * 5 / 4 + 1;
  const auto taken = [&](int cameras) {
    return fullest_share(plan.load, cameras, plan.weak, plan.channels) + plan.others;
  };
  const Plot plot{most, std::max(1.1, taken(most))};
  Svg svg(560, 300,
          fmt::format("Share of the fullest channel against the number of cameras: {} asked, {} fit",
                      plan.cameras, fit));
  // At most one point a few pixels: each is a sum of its own.
  const int stride = std::max(1, plot.most_cameras / 60);
  std::vector<Point> curve;
  for (int cameras = 0; cameras <= plot.most_cameras; cameras += stride) {
    curve.push_back({plot.x(cameras), plot.y(taken(cameras))});
  }
  std::vector<Point> area = curve;
  area.push_back({area.back().x, plot.y(plan.others)});
  area.push_back({kLeft, plot.y(plan.others)});
  svg.polygon(area, Ink::none, Ink::wash);
  svg.line({kLeft, plot.y(plan.others)}, {kRight, plot.y(plan.others)}, Ink::soft, 1);
  svg.polyline(curve, Ink::trace);
  if (plot.y(0) - plot.y(plan.others) > 16) {
    svg.text({kRight - 4, plot.y(0) - 5}, "others", Anchor::end, 12, Ink::soft);
  }
  svg.line({kLeft, plot.y(plan.most)}, {kRight, plot.y(plan.most)}, Ink::accent, 1.5, true);
  draw_axes(svg, plot);
  svg.text({kLeft, 14},
           fmt::format("{} and others take {} of {}", cameras_of(plan.cameras), show_share(asked),
                       plan.channels > 1 ? "the fullest channel" : "the channel"),
           Anchor::start, 13, asked > plan.most ? Ink::accent : Ink::trace);
  svg.text({kLeft, 31},
           fmt::format("- -  at most {}: {}", show_value(plan.most, Kind::ratio, 2), fit_words(fit)),
           Anchor::start, 12, Ink::accent);
  if (plot.y(plan.others) - curve.back().y > 30) {
    svg.text({kRight - 4, plot.y(plan.others) - 7}, "cameras", Anchor::end, 12, Ink::trace);
  }
  const double x = plot.x(plan.cameras);
  svg.line({x, kBottom}, {x, plot.y(asked)}, Ink::line, 1, true);
  svg.circle({x, plot.y(asked)}, 5, Ink::line, asked > plan.most ? Ink::accent : Ink::trace);
  return svg.done();
}

}  // namespace rookery::plan
