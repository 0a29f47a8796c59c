#include "vision/spectrum.h"

#include <cmath>
#include <numbers>

namespace rookery::vision {

std::complex<double> compute_line(std::span<const double> values, double cycles_per_value) {
  const double turn = -2 * std::numbers::pi * cycles_per_value;
  // By recurrence: one complex product a value instead of a sine and a cosine. Its error grows to about 1e-13
  // over a thousand values.
  const std::complex<double> step(std::cos(turn), std::sin(turn));
  std::complex<double> phase(1, 0);
  std::complex<double> sum(0, 0);
  for (const double value : values) {
    sum += value * phase;
    phase *= step;
  }
  return sum;
}

void detrend(std::span<double> values) {
  const auto count = static_cast<double>(values.size());
  if (values.size() < 2) return;
  double mean = 0;
  double slope = 0;
  const double middle = (count - 1) / 2;
  for (std::size_t i = 0; i < values.size(); ++i) {
    mean += values[i];
    slope += values[i] * (static_cast<double>(i) - middle);
  }
  mean /= count;
  slope /= count * (count * count - 1) / 12;
  for (std::size_t i = 0; i < values.size(); ++i)
    values[i] -= mean + slope * (static_cast<double>(i) - middle);
}

double apply_hann(std::span<double> values) {
  double sum = 0;
  for (std::size_t i = 0; i < values.size(); ++i) {
    const double weight = 0.5 - 0.5 * std::cos(2 * std::numbers::pi * (static_cast<double>(i) + 0.5) /
                                               static_cast<double>(values.size()));
    values[i] *= weight;
    sum += weight;
  }
  return sum;
}

}  // namespace rookery::vision
