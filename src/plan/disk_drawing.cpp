// The disk as a bar of what lies on it, and below it how long recordings are kept against the number of
// cameras.
#include <algorithm>
#include <vector>

#include <fmt/format.h>

#include "plan/disk_plan.h"
#include "plan/svg.h"

namespace rookery::plan {
namespace {

constexpr double kLeft = 40;
constexpr double kWidth = 480;
constexpr double kTop = 140;
constexpr double kBottom = 290;

void draw_bar(Svg& svg, const DiskPlan& plan) {
  const Bytes recordings = plan.recordings();
  const Bytes held_back = plan.disk * plan.room.reserved;
  const auto width = [&](Bytes part) { return kWidth * std::min((part / plan.disk).value(), 1.0); };
  svg.rect({kLeft, 34}, kWidth, 40, Ink::line, Ink::paper);
  svg.rect({kLeft, 34}, width(recordings), 40, Ink::trace, Ink::wash);
  const double back = kLeft + kWidth - width(held_back);
  if (held_back > 0_B) svg.line({back, 34}, {back, 74}, Ink::soft, 1);
  const std::string words = fmt::format("{} of recordings", show_days(plan.kept()));
  if (width(recordings) > 160) {
    svg.text({kLeft + width(recordings) / 2, 59}, words, Anchor::middle, 14, Ink::trace);
  }
  const Bytes rest = plan.disk - recordings - held_back;
  svg.text({kLeft, 92},
           fmt::format("{} recordings · {} kept free or taken · {} kept back", show_bytes(recordings),
                       show_bytes(rest), show_bytes(held_back)),
           Anchor::start, 12, Ink::soft);
}

}  // namespace

std::string disk_drawing(const DiskPlan& plan) {
  Svg svg(560, 336,
          fmt::format("A disk of {}: {} cameras keep {} of recordings", show_bytes(plan.disk), plan.cameras,
                      show_days(plan.kept())));
  const bool enough = plan.kept() >= plan.wanted;
  svg.text({kLeft, 20},
           fmt::format("{}: {} {}, kept for {}", show_bytes(plan.disk), plan.cameras,
                       plan.cameras == 1 ? "camera" : "cameras", show_days(plan.kept())),
           Anchor::start, 13, enough ? Ink::trace : Ink::accent);
  draw_bar(svg, plan);
  const int most_cameras = std::max(2 * plan.cameras, 4);
  const auto days = [&](double cameras) { return plan.kept().value() * plan.cameras / cameras / 86400; };
  const double wanted = plan.wanted.value() / 86400;
  const double most_days = std::max(days(plan.cameras) * 2.2, wanted * 1.3);
  const auto x = [&](double cameras) { return kLeft + kWidth * cameras / most_cameras; };
  const auto y = [&](double shown) { return kBottom - (kBottom - kTop) * std::min(shown / most_days, 1.0); };
  std::vector<Point> curve;
  for (double cameras = most_cameras; cameras > 0; cameras -= most_cameras / 120.0) {
    if (days(cameras) > most_days) break;
    curve.push_back({x(cameras), y(days(cameras))});
  }
  svg.line({kLeft, kBottom}, {kLeft + kWidth, kBottom}, Ink::line)
      .line({kLeft, kTop}, {kLeft, kBottom}, Ink::line);
  svg.polyline(curve, Ink::trace);
  svg.line({kLeft, y(wanted)}, {kLeft + kWidth, y(wanted)}, Ink::accent, 1.5, true);
  // On the side where the curve is not.
  svg.text({enough ? kLeft + 4 : kLeft + kWidth, y(wanted) - 5}, "wanted: " + show_days(plan.wanted),
           enough ? Anchor::start : Anchor::end, 12, Ink::accent);
  const Point here{x(plan.cameras), y(days(plan.cameras))};
  svg.line({here.x, kBottom}, here, Ink::line, 1, true);
  svg.circle(here, 5, Ink::line, enough ? Ink::trace : Ink::accent);
  svg.text({here.x, kBottom + 17}, std::to_string(plan.cameras), Anchor::middle, 12, Ink::soft);
  svg.text({kLeft + kWidth, kBottom + 17}, std::to_string(most_cameras), Anchor::end, 12, Ink::soft);
  svg.text({kLeft + kWidth / 2, kBottom + 34}, "cameras", Anchor::middle, 12, Ink::soft);
  svg.text({here.x + 8, here.y - 8}, show_days(plan.kept()), Anchor::start, 13,
           enough ? Ink::trace : Ink::accent);
  svg.text({kLeft - 6, kBottom + 4}, "0", Anchor::end, 12, Ink::soft);
  svg.text({kLeft, kTop - 10}, "kept for", Anchor::start, 12, Ink::soft);
  return svg.done();
}

}  // namespace rookery::plan
