// The loops below are written so that the compiler makes vector instructions of them: plain arrays, no
// branches, sums in lanes.
#include "vision/motion_energy.h"

#include <cmath>

#include "vision/levelling.h"

namespace rookery::vision {
namespace {

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

// What each grey level should have become, in eighths; never outside of what a cell can show.
std::array<std::int16_t, 256> expected_levels(const Exposure& exposure) {
  std::array<std::int16_t, 256> levels{};
  for (std::size_t level = 0; level < levels.size(); ++level) {
    const double grey = std::clamp(exposure.gain * static_cast<double>(level) + exposure.offset, 0.0, 255.0);
    levels[level] = static_cast<std::int16_t>(std::lround(grey * kUnit));
  }
  return levels;
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
  const auto expected = expected_levels(fit_exposure(previous_, grid));
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
