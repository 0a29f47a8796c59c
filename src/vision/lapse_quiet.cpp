#include "vision/lapse_quiet.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstdlib>

namespace rookery::vision {
namespace {

// One step of a block's light at usual quality is 2 grey levels (ITU-T T.81, table K.1 at IJG 50: 16 / 8), at
// IJG 30 it is 3.3.
constexpr int kAlike = 3;
constexpr int kCell_px = 8;
// Of the cells, for a picture to count at all.
constexpr double kLeastAlike = 0.5;

}  // namespace

bool QuietCells::add(std::span<const std::uint8_t> cells) {
  if (cells.size() != own_.size()) return false;
  std::size_t alike = 0;
  for (std::size_t i = 0; i < cells.size(); ++i) alike += std::abs(cells[i] - own_[i]) <= kAlike ? 1U : 0U;
  if (static_cast<double>(alike) < kLeastAlike * static_cast<double>(cells.size())) return false;
  beside_.emplace_back(cells.begin(), cells.end());
  return true;
}

std::vector<std::int8_t> QuietCells::compute_corrections() const {
  std::vector<std::int8_t> corrections(own_.size());
  std::vector<std::uint8_t> values;
  for (std::size_t i = 0; i < own_.size(); ++i) {
    values.assign(1, own_[i]);
    for (const auto& other : beside_) {
      if (std::abs(other[i] - own_[i]) <= kAlike) values.push_back(other[i]);
    }
    // Of an even number the one of the middle two that is nearer to the frame's own: it is a value that was
    // seen.
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    int median = *middle;
    if (values.size() % 2 == 0) {
      const int lower = *std::max_element(values.begin(), middle);
      if (std::abs(lower - own_[i]) < std::abs(median - own_[i])) median = lower;
    }
    corrections[i] = static_cast<std::int8_t>(median - own_[i]);
  }
  return corrections;
}

void apply_corrections(std::span<const std::int8_t> corrections, int width_px, int height_px, bool limited,
                       const PlaneView& luma) {
  const int columns = (width_px + kCell_px - 1) / kCell_px;
  assert(corrections.size() == static_cast<std::size_t>(columns * ((height_px + kCell_px - 1) / kCell_px)));
  const double factor = limited ? 219.0 / 255 : 1;
  // The first sample of a cell, whatever the plane's size.
  const auto begin_of = [&](int column) {
    return std::min(luma.width, (column * kCell_px * luma.width + width_px - 1) / width_px);
  };
  for (int y = 0; y < luma.height; ++y) {
    const auto* of_row =
        corrections.data() + static_cast<std::ptrdiff_t>(y * height_px / luma.height / kCell_px) * columns;
    std::uint8_t* row = luma.row(y);
    for (int c = 0; c < columns; ++c) {
      if (of_row[c] == 0) continue;
      const int by = static_cast<int>(std::lround(factor * of_row[c]));
      for (int x = begin_of(c); x < begin_of(c + 1); ++x)
        row[x] = static_cast<std::uint8_t>(std::clamp(row[x] + by, 0, 255));
    }
  }
}

}  // namespace rookery::vision
