#include "vision/lapse_window.h"

#include <algorithm>
#include <cmath>

namespace rookery::vision {
namespace {

constexpr double kMiddle = 128;
// A darker picture is not made brighter than this asks: its noise would count as a change.
constexpr double kDarkest = 16;
// What is more than four times as bright as the median is as good as white.
constexpr double kBrightest = 4 * kMiddle;
constexpr LapseCell kCap = 40 * kLapseUnit;
// Noise and JPEG's steps leave less than this in a thumbnail's cell.
constexpr LapseCell kRestless = 2 * kLapseUnit;
constexpr LapseCell kGrown = 6 * kLapseUnit;
constexpr LapseCell kDiffers = 12 * kLapseUnit;

LapseCell median_of(std::vector<LapseCell>& values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

// The mean of the middle half of the cells: as little moved by a head as the median is, but without its
// steps, which in a dark picture are some per cent each.
double middle_of(std::span<const std::uint8_t> cells) {
  std::array<double, 256> counts{};
  for (const std::uint8_t cell : cells) ++counts[cell];
  const double quarter = static_cast<double>(cells.size()) / 4;
  double below = 0;
  double sum = 0;
  for (std::size_t value = 0; value < counts.size(); ++value) {
    const double from = std::max(below, quarter);
    below += counts[value];
    const double to = std::min(below, 3 * quarter);
    if (to > from) sum += (to - from) * static_cast<double>(value);
  }
  return sum / (2 * quarter);
}

bool flawed(const LapsePicture& picture) {
  constexpr double kMostOfIt = 0.4;  // the same share as for a camera's health
  return !picture.usable || picture.dark_share > kMostOfIt || picture.bright_share > kMostOfIt;
}

}  // namespace

void LapseWindow::take(const LapsePicture& picture, std::size_t number, int part) {
  const bool bad = flawed(picture);
  if (part == part_) {
    if (bad || pictures_.back().unusable < 1) return;
    pictures_.pop_back();
    cells_.resize(cells_.size() - stride_);
  }
  part_ = part;
  const double light = middle_of(picture.cells);
  pictures_.push_back({.number = number,
                       .at_s = picture.at_s,
                       .light = light,
                       .sharpness = picture.sharpness,
                       .unusable = bad ? 1.0 : 0.0});
  std::array<LapseCell, 256> table{};
  const double factor = kMiddle / std::max(light, kDarkest);
  for (std::size_t value = 0; value < table.size(); ++value)
    table[value] = static_cast<LapseCell>(
        std::lround(kLapseUnit * std::min(kBrightest, static_cast<double>(value) * factor)));
  for (const std::uint8_t cell : picture.cells) cells_.push_back(table[cell]);
}

void LapseWindow::close() {
  median_.resize(stride_);
  spread_.resize(stride_);
  std::vector<LapseCell> values(size());
  for (std::size_t c = 0; c < stride_; ++c) {
    for (std::size_t i = 0; i < size(); ++i) values[i] = cells_[i * stride_ + c];
    const LapseCell middle = median_of(values);
    int strayed = 0;
    for (const LapseCell value : values) strayed += std::min<int>(kCap, std::abs(value - middle));
    median_[c] = middle;
    spread_[c] = static_cast<LapseCell>(strayed / static_cast<int>(size()));
  }
  std::vector<double> known;
  for (const WindowPicture& picture : pictures_) {
    if (picture.sharpness > 0 && picture.unusable < 1) known.push_back(picture.sharpness);
  }
  if (known.empty()) return;
  const auto middle = known.begin() + static_cast<std::ptrdiff_t>(known.size() / 2);
  std::nth_element(known.begin(), middle, known.end());
  sharpness_ = *middle;
}

std::size_t LapseWindow::bytes() const {
  return pictures_.capacity() * sizeof(WindowPicture) +
         (cells_.capacity() + median_.capacity() + spread_.capacity()) * sizeof(LapseCell);
}

// Each side is as far from itself as its medians are from each other; what stays is further from the other
// side than that.
std::vector<std::uint8_t> grown_cells(std::span<const LapseWindow* const> before,
                                      std::span<const LapseWindow* const> after) {
  std::vector<std::uint8_t> grown(after.front()->median().size());
  if (before.empty()) return grown;
  for (std::size_t c = 0; c < grown.size(); ++c) {
    const auto range = [c](std::span<const LapseWindow* const> side) {
      LapseCell low = side.front()->median()[c];
      LapseCell high = low;
      for (const LapseWindow* window : side) {
        low = std::min(low, window->median()[c]);
        high = std::max(high, window->median()[c]);
      }
      return std::pair<int, int>(low, high);
    };
    const auto [low, high] = range(before);
    const auto [low_after, high_after] = range(after);
    const int apart = std::max(low_after - high, low - high_after);
    grown[c] = apart > std::max({int{kGrown}, high - low, high_after - low_after}) ? 1 : 0;
  }
  return grown;
}

std::vector<std::uint8_t> learn_head(LapseWindow& window, std::span<const LapseWindow* const> around,
                                     std::span<const std::uint8_t> grown) {
  const std::size_t cells = window.median().size();
  std::vector<std::uint8_t> head(cells);
  std::vector<LapseCell> usual(cells);
  std::vector<LapseCell> values(around.size());
  for (std::size_t c = 0; c < cells; ++c) {
    head[c] = window.spread()[c] > kRestless && grown[c] == 0 ? 1 : 0;
    if (head[c] == 0) continue;
    for (std::size_t i = 0; i < around.size(); ++i) values[i] = around[i]->median()[c];
    usual[c] = median_of(values);
  }
  for (std::size_t i = 0; i < window.size(); ++i) {
    const auto picture = window.cells(i);
    int differing = 0;
    for (std::size_t c = 0; c < cells; ++c)
      differing += head[c] != 0 && std::abs(picture[c] - usual[c]) > kDiffers ? 1 : 0;
    window.pictures()[i].head_share = static_cast<double>(differing) / static_cast<double>(cells);
  }
  return head;
}

// Written so that the compiler makes vector instructions of it: 16-bit lanes, added up before they can
// overflow.
std::uint32_t unlike_sum(std::span<const LapseCell> a, std::span<const LapseCell> b) {
  constexpr std::size_t kBlock = 64;  // 64 / 8 lanes · 320 stays below 32767
  const LapseCell* x = a.data();
  const LapseCell* y = b.data();
  std::uint32_t sum = 0;
  std::size_t left = a.size();
  for (; left >= kBlock; left -= kBlock, x += kBlock, y += kBlock) {
    std::array<LapseCell, 8> lanes{};
    for (std::size_t i = 0; i < kBlock; i += 8) {
      for (std::size_t lane = 0; lane < 8; ++lane) {
        const auto d = static_cast<LapseCell>(x[i + lane] - y[i + lane]);
        const LapseCell size = std::max(d, static_cast<LapseCell>(-d));
        lanes[lane] = static_cast<LapseCell>(lanes[lane] + std::min(size, kCap));
      }
    }
    for (const LapseCell lane : lanes) sum += static_cast<std::uint32_t>(lane);
  }
  for (std::size_t i = 0; i < left; ++i)
    sum += static_cast<std::uint32_t>(std::min<int>(kCap, std::abs(x[i] - y[i])));
  return sum;
}

}  // namespace rookery::vision
