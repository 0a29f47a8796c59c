// Arrivals: how evenly pictures come, as one reader sees it.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>

#include "base/time.h"

namespace rookery::camera {

// What a span of time was like.
struct ArrivalSpan {
  std::uint64_t intervals = 0;
  std::chrono::nanoseconds longest{};  // between two pictures, the wait that is not over included
  // Of the intervals' differences, smoothed as RFC 3550 §6.4.1 smooths transit times: J += (|D| - J) / 16. A
  // board says no time of its own that could be believed, so D is the difference of two intervals that follow
  // each other.
  std::chrono::nanoseconds jitter{};
};

// Pure: all times are given. Not for several threads at once.
class Arrivals {
 public:
  // A whole picture came. Times never go back.
  void picture(base::MonoTime at);
  // What comes next begins anew: no interval lies over a time in which nothing was expected (switched off).
  void pause();
  // What there was since the last call, or since the first picture.
  ArrivalSpan take(base::MonoTime now);
  std::chrono::nanoseconds jitter() const;

 private:
  std::optional<base::MonoTime> last_;
  std::optional<std::chrono::nanoseconds> last_interval_;
  double jitter_ns_ = 0;
  ArrivalSpan span_;
};

}  // namespace rookery::camera
