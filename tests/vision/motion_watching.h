// A detector and its events that watch a make-believe view.
#pragma once

#include <gtest/gtest.h>

#include <functional>

#include "tests/vision/motion_scene.h"
#include "vision/motion_detector.h"
#include "vision/motion_events.h"

namespace rookery::vision::test {

struct Watching {
  // Five pictures a second for `seconds`; `sight` is told the seconds since the beginning of this span.
  void watch(
      double seconds, const std::function<Sight(double)>& sight = [](double) { return Sight{}; }) {
    const auto count = static_cast<int>(seconds * 5);
    for (int i = 0; i < count; ++i) {
      now += std::chrono::milliseconds{200};
      const MotionFrame& frame = detector.add(view.see(sight(i * 0.2)), now);
      most_energy = std::max<int>(most_energy, frame.energy);
      if (auto event = gatherer.add(frame, kWidth, kHeight)) events.push_back(*event);
    }
  }
  // Crosses the picture from left to right in `seconds`.
  static std::function<Sight(double)> crossing(double seconds, double width = 8, double height = 14) {
    return [=](double s) {
      return Sight{.x = -width + (kWidth + width) * s / seconds, .y = 30, .width = width, .height = height};
    };
  }
  // A print: the head goes to and fro, a row higher every fourteen seconds, so that it comes back to a row
  // only with the next print; then it is parked at the top for a minute.
  static constexpr double kPrint_s = 420;
  static Sight printing(double s) {
    return Sight{.x = 34 + 8 * std::sin(3.1 * s), .y = 45 - s / 14, .width = 12, .height = 6};
  }
  void print(int times) {
    for (int i = 0; i < times; ++i) {
      watch(kPrint_s, printing);
      watch(60, [](double) { return Sight{.x = 30, .y = 15, .width = 12, .height = 6}; });
    }
  }
  std::vector<MotionEvent> motions() {
    if (auto event = gatherer.finish()) events.push_back(*event);
    std::vector<MotionEvent> found;
    std::ranges::copy_if(events, std::back_inserter(found),
                         [](const auto& e) { return e.cause == MotionEvent::Cause::motion; });
    return found;
  }

  test::View view;
  MotionDetector detector;
  MotionEvents gatherer;
  base::Microseconds now{0};
  int most_energy = 0;
  std::vector<MotionEvent> events;
};

class MotionTest : public ::testing::Test, protected Watching {
 protected:
  // Saved by one that has seen two prints.
  static const std::vector<std::byte>& knows_the_printer() {
    static const std::vector<std::byte> kSaved = [] {
      Watching watching;
      watching.watch(20);
      watching.print(2);
      return watching.detector.save();
    }();
    return kSaved;
  }
};

}  // namespace rookery::vision::test
