// The loops below are written so that the compiler makes vector instructions of them: plain arrays, no
// branches, sums in lanes.
#include "vision/motion_energy.h"

#include <cmath>

namespace rookery::vision {
namespace {

// Differences are counted in eighths of a grey level, so that gain and offset leave no rounding of their own.
constexpr int kUnit = 8;
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
// Mains banding is at most ±12 grey levels from row to row.
constexpr int kMostBand = 12 * kUnit;
constexpr double kLeastNoise = 0.25;
constexpr double kMostNoise = 40;
constexpr unsigned kSettled = 8;    // grids
constexpr double kMostRise = 0.04;  // a grid
// 2.5 times the 90th percentile is 4.1 standard deviations of normal noise: 1 cell in 25 000.
constexpr double kNoiseMargin = 2.5;
constexpr double kQuantumMargin = 1.5;
constexpr double kLeastThreshold = 2;
constexpr int kVotes = 4;  // of 3×3, itself included
constexpr double kFullShare = 0.25;

struct Exposure {
  double gain = 1;
  double offset = 0;
};

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

// Reweighted least squares. It starts from the shift of the median cell, so that the first weights already
// know what most of the picture did.
Exposure fit(const jpeg::LumaGrid& before, const jpeg::LumaGrid& now) {
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

// What each grey level should have become, in eighths; never outside of what a cell can show.
std::array<std::int16_t, 256> expected_levels(const Exposure& exposure) {
  std::array<std::int16_t, 256> levels{};
  for (std::size_t level = 0; level < levels.size(); ++level) {
    const double grey = std::clamp(exposure.gain * static_cast<double>(level) + exposure.offset, 0.0, 255.0);
    levels[level] = static_cast<std::int16_t>(std::lround(grey * kUnit));
  }
  return levels;
}

int count_below(const std::int16_t* values, std::size_t many, int bound) {
  const auto limit = static_cast<std::int16_t>(bound);
  int count = 0;
  for (std::size_t i = 0; i < many; ++i) count += values[i] < limit ? 1 : 0;
  return count;
}

// What banding adds to the row: its median (found by halving), when it is in bounds and at least three
// quarters of the row lie within `near` of it. Otherwise something moved across the row, and that is no
// banding.
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

// The 75th percentile of |difference|, in eighths.
int upper_quartile(const std::vector<std::int16_t>& difference) {
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

// The usual distance between the values that occur: JPEG stores a cell in steps of the first entry of its
// quantisation table, divided by eight.
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

}  // namespace

std::uint8_t MotionEnergy::add(const jpeg::LumaGrid& grid) {
  const auto width = static_cast<std::size_t>(std::max(grid.width, 0));
  const auto height = static_cast<std::size_t>(std::max(grid.height, 0));
  if (grid.damaged || grid.cells.empty() || grid.cells.size() != width * height) return 0;
  if (grid.width != previous_.width || grid.height != previous_.height) {
    previous_ = grid;
    compared_ = 0;
    difference_.assign(grid.cells.size(), 0);
    changed_.assign((width + 2) * (height + 2), 0);
    votes_.assign(width + 2, 0);
    return 0;
  }
  if (compared_ % 32 == 0) quantum_ = quantum_of(grid);  // tables change seldom
  const auto expected = expected_levels(fit(previous_, grid));
  for (std::size_t i = 0; i < grid.cells.size(); ++i) {
    difference_[i] = static_cast<std::int16_t>(kUnit * grid.cells[i] - expected[previous_.cells[i]]);
  }
  const int near = static_cast<int>(threshold() * kUnit);
  for (std::size_t row = 0; row < height; ++row) {
    std::int16_t* cells = &difference_[row * width];
    const auto band = static_cast<std::int16_t>(band_of(cells, width, near));
    for (std::size_t i = 0; i < width; ++i) cells[i] = static_cast<std::int16_t>(cells[i] - band);
  }
  follow_noise();
  const std::size_t changed = count_changed(static_cast<int>(threshold() * kUnit));
  const double share = static_cast<double>(changed) / static_cast<double>(grid.cells.size());
  previous_.cells = grid.cells;
  return static_cast<std::uint8_t>(std::lround(255 * std::sqrt(std::min(share / kFullShare, 1.0))));
}

double MotionEnergy::threshold() const {
  return std::max({kLeastThreshold, kQuantumMargin * quantum_, kNoiseMargin * noise_});
}

// The upper quartile stands for the noise, because up to a quarter of the picture may move without being
// taken for noise; 1.43 makes the 90th percentile of it, as of normal noise. After the first grids it rises
// slowly, so that a whole picture that changes at once is no noise either.
void MotionEnergy::follow_noise() {
  const double now = std::clamp(1.43 * upper_quartile(difference_) / kUnit, kLeastNoise, kMostNoise);
  const bool settled = compared_ >= kSettled;
  ++compared_;
  const double change = (now - noise_) / std::min(compared_, kSettled);
  noise_ += settled ? std::min(change, kMostRise * noise_) : change;
}

std::size_t MotionEnergy::count_changed(int threshold) {
  const auto width = static_cast<std::size_t>(previous_.width);
  const auto height = static_cast<std::size_t>(previous_.height);
  const std::size_t stride = width + 2;
  const auto bound = static_cast<std::int16_t>(threshold);
  for (std::size_t row = 0; row < height; ++row) {
    const std::int16_t* in = &difference_[row * width];
    std::uint8_t* out = &changed_[(row + 1) * stride + 1];
    for (std::size_t i = 0; i < width; ++i) out[i] = std::abs(int{in[i]}) > bound ? 1 : 0;
  }
  std::size_t changed = 0;
  for (std::size_t row = 1; row <= height; ++row) {
    const std::uint8_t* above = &changed_[(row - 1) * stride];
    const std::uint8_t* at = &changed_[row * stride];
    const std::uint8_t* below = &changed_[(row + 1) * stride];
    for (std::size_t i = 0; i < stride; ++i) {
      votes_[i] = static_cast<std::uint8_t>(above[i] + at[i] + below[i]);
    }
    unsigned in_row = 0;
    for (std::size_t i = 1; i <= width; ++i) {
      in_row += at[i] & static_cast<unsigned>(votes_[i - 1] + votes_[i] + votes_[i + 1] >= kVotes);
    }
    changed += in_row;
  }
  return changed;
}

}  // namespace rookery::vision
