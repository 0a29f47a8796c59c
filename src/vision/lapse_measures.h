// How good a lapse is. Numbers for tests and benchmarks.
#pragma once

#include <cstdint>
#include <span>

namespace rookery::vision {

// Mean absolute difference of two pictures' luma where still is not 0; still empty: everywhere. All of one
// size. 0 when nothing is left. any-thread.
double unlikeness(std::span<const std::uint8_t> before, std::span<const std::uint8_t> now,
                  std::span<const std::uint8_t> still = {});

// Root mean square of what the steps of `times` differ from `every`; 0 for fewer than two times.
double rms_spacing(std::span<const double> times_s, double every_s);

// Root mean square of what each level differs from the median of the `window` (odd) levels round it: flicker,
// where a level that steps and stays counts once at most. 0 for fewer than three levels.
double flicker(std::span<const double> levels, int window = 15);

// Share of steps in which the part's true size falls; 0 for fewer than two.
double shrinking_share(std::span<const double> sizes);

struct StepSizes {
  double mean = 0;
  double p95 = 0;
};
// How far a point that stands at (x, y) moves from frame to frame. x, y: as many.
StepSizes step_sizes(std::span<const double> x, std::span<const double> y);

}  // namespace rookery::vision
