// The microframe to scale: the cameras that fit, where the periodic part ends, and those for which there is
// no room.
#include <algorithm>

#include <fmt/format.h>

#include "plan/svg.h"
#include "plan/unit_text.h"
#include "plan/usb_plan.h"

namespace rookery::plan {
namespace {

constexpr double kLeft = 20;
constexpr double kWidth = 520;
constexpr double kRow = 56;
constexpr double kHeight = 52;
constexpr double kSecond = 182;

double px(Seconds time) { return kWidth * (time / kMicroframe).value(); }

// Blocks of one camera each, `from` to `to`; the number stands in those that are wide enough.
void draw_cameras(Svg& svg, double top, int from, int to, double width, bool fits) {
  for (int i = from; i < to; ++i) {
    const double x = kLeft + (i - from) * width;
    svg.rect({x, top}, width, kHeight, fits ? Ink::trace : Ink::accent, fits ? Ink::wash : Ink::none);
    if (width > 22) {
      svg.text({x + width / 2, top + 31}, std::to_string(i + 1), Anchor::middle, 14,
               fits ? Ink::trace : Ink::accent);
    }
  }
}

}  // namespace

std::string usb_drawing(const UsbPlan& plan) {
  const Reservation reservation = plan.reservation();
  const double each = px(reserved_time(reservation));
  const int asked = plan.on_fullest();
  const int fit = std::min(asked, cameras_on_a_bus(reservation));
  Svg svg(560, asked > fit ? 262 : 152,
          fmt::format("One microframe of 125 µs: {} of {} cameras fit into the 100 µs that may be reserved",
                      fit, asked));
  svg.text({kLeft, 22},
           fmt::format("{}: {} of {} fit, each takes {}",
                       plan.buses > 1 ? "A microframe of the fullest bus" : "One microframe", fit, asked,
                       show_value(reserved_time(reservation).value(), Kind::duration)),
           Anchor::start, 13, fit < asked ? Ink::accent : Ink::trace);
  svg.rect({kLeft, kRow}, kWidth, kHeight, Ink::line, Ink::paper);
  draw_cameras(svg, kRow, 0, fit, each, true);
  const double limit = kLeft + px(kMostPeriodic);
  svg.line({limit, kRow - 12}, {limit, kRow + kHeight + 8}, Ink::accent, 1.5, true);
  svg.text({limit - 6, kRow - 8}, "100 µs may be reserved", Anchor::end, 12, Ink::accent);
  svg.text({kLeft + kWidth, kRow - 8}, "125 µs", Anchor::end, 12, Ink::soft);
  svg.text({(limit + kLeft + kWidth) / 2, kRow + 31}, "all else", Anchor::middle, 12, Ink::soft);
  const double left = limit - kLeft - fit * each;
  if (left > 60) {
    svg.text({limit - left / 2, kRow + 31},
             show_value((kMostPeriodic - static_cast<double>(fit) * reserved_time(reservation)).value(),
                        Kind::duration, 2) +
                 " left",
             Anchor::middle, 12, Ink::soft);
  }
  svg.text({kLeft, kRow + kHeight + 22},
           fmt::format("each reserves {}: {:.1f} MB/s, and sends {:.1f} MB/s", show_reservation(reservation),
                       reservation.bytes().value() * kMicroframesASecond / 1e6, plan.each().value() / 1e6),
           Anchor::start, 12, Ink::soft);
  if (asked > fit) {
    const int shown = std::min(asked - fit, static_cast<int>(kWidth / each));
    svg.text({kLeft, kSecond - 10},
             shown < asked - fit ? fmt::format("No room for {}, of which {} are drawn", asked - fit, shown)
                                 : fmt::format("No room for {}", asked - fit),
             Anchor::start, 13, Ink::accent);
    draw_cameras(svg, kSecond, fit, fit + shown, each, false);
  }
  return svg.done();
}

}  // namespace rookery::plan
