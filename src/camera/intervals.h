// How evenly pictures arrive: percentiles of the intervals, gaps, jitter. Functions of arrival times; no
// clock.
#pragma once

#include <chrono>
#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "base/time.h"

namespace rookery::camera {

using Millis = std::chrono::duration<double, std::milli>;

// One picture: when it was here, and when the board says that it took it.
struct ArrivedAt {
  base::MonoTime at{};
  std::optional<base::Microseconds> stamp;
  // The first of a connection: the time since the one before it is no interval.
  bool begins = false;
};

struct Intervals {
  std::size_t count = 0;    // of intervals; all else is 0 when it is
  double frames_per_s = 0;  // intervals over their sum
  Millis p50{}, p95{}, p99{}, longest{};
  // RFC 3550 §6.4.1, J += (|D| − J)/16, D against the board's stamps, else against the median interval: its
  // mean over all pictures, and the greatest it was.
  Millis jitter{}, jitter_most{};
  bool jitter_by_stamps = false;
  Millis gap_bound{};  // max(3 m, m + 6·1.4826·MAD), m the median: what is longer is a gap
  std::size_t gaps = 0;
};

// any-thread.
Intervals compute_intervals(std::span<const ArrivedAt> arrivals);

// Nearest rank: the least value that at least `share` (0–1) of all do not exceed. values: not empty.
double percentile(std::vector<double> values, double share);

}  // namespace rookery::camera
