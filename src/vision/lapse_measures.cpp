#include "vision/lapse_measures.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <vector>

namespace rookery::vision {

double unlikeness(std::span<const std::uint8_t> before, std::span<const std::uint8_t> now,
                  std::span<const std::uint8_t> still) {
  assert(before.size() == now.size() && (still.empty() || still.size() == now.size()));
  std::uint64_t sum = 0;
  std::uint64_t count = 0;
  for (std::size_t i = 0; i < now.size(); ++i) {
    if (!still.empty() && still[i] == 0) continue;
    sum += static_cast<std::uint64_t>(std::abs(now[i] - before[i]));
    ++count;
  }
  return count == 0 ? 0 : static_cast<double>(sum) / static_cast<double>(count);
}

double rms_spacing(std::span<const double> times_s, double every_s) {
  if (times_s.size() < 2) return 0;
  double sum = 0;
  for (std::size_t i = 1; i < times_s.size(); ++i) {
    const double off = times_s[i] - times_s[i - 1] - every_s;
    sum += off * off;
  }
  return std::sqrt(sum / static_cast<double>(times_s.size() - 1));
}

double flicker(std::span<const double> levels, int window) {
  assert(window > 0 && window % 2 == 1);
  if (levels.size() < 3) return 0;
  const auto half = static_cast<std::size_t>(window / 2);
  double sum = 0;
  std::vector<double> near;
  for (std::size_t i = 0; i < levels.size(); ++i) {
    const std::size_t from = i > half ? i - half : 0;
    const std::size_t to = std::min(levels.size(), i + half + 1);
    near.assign(levels.begin() + static_cast<std::ptrdiff_t>(from),
                levels.begin() + static_cast<std::ptrdiff_t>(to));
    const auto middle = near.begin() + static_cast<std::ptrdiff_t>(near.size() / 2);
    std::nth_element(near.begin(), middle, near.end());
    sum += (levels[i] - *middle) * (levels[i] - *middle);
  }
  return std::sqrt(sum / static_cast<double>(levels.size()));
}

double shrinking_share(std::span<const double> sizes) {
  if (sizes.size() < 2) return 0;
  std::size_t shrunk = 0;
  for (std::size_t i = 1; i < sizes.size(); ++i) shrunk += sizes[i] < sizes[i - 1] ? 1 : 0;
  return static_cast<double>(shrunk) / static_cast<double>(sizes.size() - 1);
}

StepSizes step_sizes(std::span<const double> x, std::span<const double> y) {
  assert(x.size() == y.size());
  StepSizes out;
  if (x.size() < 2) return out;
  std::vector<double> steps;
  for (std::size_t i = 1; i < x.size(); ++i) steps.push_back(std::hypot(x[i] - x[i - 1], y[i] - y[i - 1]));
  for (const double step : steps) out.mean += step / static_cast<double>(steps.size());
  const auto at = static_cast<std::ptrdiff_t>(0.95 * static_cast<double>(steps.size() - 1));
  std::nth_element(steps.begin(), steps.begin() + at, steps.end());
  out.p95 = steps[static_cast<std::size_t>(at)];
  return out;
}

}  // namespace rookery::vision
