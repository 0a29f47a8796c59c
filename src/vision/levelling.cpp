// The loops below are written so that the compiler makes vector instructions of them: plain arrays, no
// branches, sums in lanes.
#include "vision/levelling.h"

#include <cmath>

namespace rookery::vision {
namespace {

constexpr std::size_t kLanes = 8;
// Two parameters need no more cells than this to be found.
constexpr std::size_t kFitCells = 2400;
// Brighter cells are clipped in the sensor and follow no gain.
constexpr float kClipped = 250;
// A residual of 4 grey levels halves a cell's weight: what moved has little say in the exposure.
constexpr float kHalfWeight = 16;
// Between two frames exposure does not change more; beyond it, it is another picture.
constexpr double kLeastGain = 0.5;
constexpr double kMostGain = 2.0;

// Weighted sums for y = gain·x + offset, in lanes: one long chain of float additions would be neither fast
// nor exact.
struct Sums {
  std::array<float, kLanes> w{}, x{}, y{}, xx{}, xy{};

  void add(const std::uint8_t* before, const std::uint8_t* now, std::size_t cells, float gain, float offset) {
    for (std::size_t i = 0; i + kLanes <= cells; i += kLanes) {
      for (std::size_t lane = 0; lane < kLanes; ++lane) {
        const float bx = before[i + lane];
        const float ny = now[i + lane];
        const float residual = ny - gain * bx - offset;
        const float weight =
            bx > kClipped || ny > kClipped ? 0.0f : 1.0f / (1.0f + residual * residual / kHalfWeight);
        w[lane] += weight;
        x[lane] += weight * bx;
        y[lane] += weight * ny;
        xx[lane] += weight * bx * bx;
        xy[lane] += weight * bx * ny;
      }
    }
  }
};

double total(const std::array<float, kLanes>& lanes) {
  double sum = 0;
  for (const float lane : lanes) sum += static_cast<double>(lane);
  return sum;
}

Exposure solve(const Sums& sums) {
  const double w = total(sums.w);
  if (w < 1) return {};
  const double mean_x = total(sums.x) / w;
  const double mean_y = total(sums.y) / w;
  // A picture without contrast says nothing of the gain: 16 grey levels squared lean towards 1.
  const double lean = 16;
  const double variance = total(sums.xx) / w - mean_x * mean_x;
  const double covariance = total(sums.xy) / w - mean_x * mean_y;
  Exposure found;
  found.gain = std::clamp((covariance + lean) / (std::max(variance, 0.0) + lean), kLeastGain, kMostGain);
  found.offset = mean_y - found.gain * mean_x;
  return found;
}

int count_below(const std::int16_t* values, std::size_t many, int bound) {
  const auto limit = static_cast<std::int16_t>(bound);
  int count = 0;
  for (std::size_t i = 0; i < many; ++i) count += values[i] < limit ? 1 : 0;
  return count;
}

}  // namespace

// Reweighted least squares. It starts from the shift of the median cell, so that the first weights already
// know what most of the picture did.
Exposure fit_exposure(const jpeg::LumaGrid& before, const jpeg::LumaGrid& now) {
  const auto width = static_cast<std::size_t>(before.width);
  const std::size_t cells = before.cells.size();
  const std::size_t step = std::max<std::size_t>(1, cells / kFitCells);  // in rows
  std::array<unsigned, 511> shifts{};
  unsigned counted = 0;
  for (std::size_t i = 0; i < cells; i += 1 + step * 4) {
    ++shifts[static_cast<std::size_t>(255 + now.cells[i] - before.cells[i])];
    ++counted;
  }
  std::size_t median = 0;
  for (unsigned below = shifts[0]; 2 * below < counted;) below += shifts[++median];
  Exposure exposure{1, static_cast<double>(median) - 255};
  for (int pass = 0; pass < 2; ++pass) {
    Sums sums;
    for (std::size_t row = 0; row < static_cast<std::size_t>(before.height); row += step) {
      sums.add(&before.cells[row * width], &now.cells[row * width], width, static_cast<float>(exposure.gain),
               static_cast<float>(exposure.offset));
    }
    exposure = solve(sums);
  }
  return exposure;
}

int band_of(const std::int16_t* row, std::size_t width, int near) {
  const int half = static_cast<int>(width) / 2;
  int low = -kMostBand - 1;
  int high = kMostBand + 1;
  while (high - low > 1) {
    const int middle = (low + high) / 2;
    (count_below(row, width, middle) > half ? high : low) = middle;
  }
  if (low <= -kMostBand || low >= kMostBand) return 0;
  const int beside = count_below(row, width, low + near + 1) - count_below(row, width, low - near);
  return 4 * beside >= 3 * static_cast<int>(width) ? low : 0;
}

int upper_quartile(std::span<const std::int16_t> difference) {
  // A quarter of the cells tells it well enough.
  std::array<unsigned, 256 * kUnit> counts{};
  unsigned all = 0;
  const std::size_t step = difference.size() > kFitCells ? 5 : 1;  // odd: walks through all columns
  for (std::size_t i = 0; i < difference.size(); i += step, ++all) {
    ++counts[std::min<std::size_t>(static_cast<std::size_t>(std::abs(int{difference[i]})),
                                   counts.size() - 1)];
  }
  std::size_t value = 0;
  for (unsigned below = counts[0]; 4 * below < 3 * all && value + 1 < counts.size();)
    below += counts[++value];
  return static_cast<int>(value);
}

double quantum_of(const jpeg::LumaGrid& grid) {
  std::array<unsigned, 256> counts{};
  for (const std::uint8_t cell : grid.cells) ++counts[cell];
  // The outer tenths are left out: values are rare there, and gaps mean nothing.
  const auto tenth = static_cast<unsigned>(grid.cells.size() / 10);
  unsigned passed = 0;
  int first = -1;
  int last = -1;
  int values = 0;
  for (int value = 0; value < 256; ++value) {
    const unsigned count = counts[static_cast<std::size_t>(value)];
    passed += count;
    if (passed <= tenth || count == 0) continue;
    if (first < 0) first = value;
    last = value;
    ++values;
    if (passed >= grid.cells.size() - tenth) break;
  }
  if (values < 8) return 1;  // too flat to tell
  return std::clamp(static_cast<double>(last - first) / (values - 1), 1.0, 16.0);
}

}  // namespace rookery::vision
