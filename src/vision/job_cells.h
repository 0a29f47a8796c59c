// Inner: sums over cells that the watch of a job needs. All pictures of one call have one size.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "jpeg/luma_grid.h"
#include "vision/cell_box.h"

namespace rookery::vision {

using Cells = std::vector<float>;            // grey levels
using CellMask = std::vector<std::uint8_t>;  // 1 or 0

// Mean of the (2·radius + 1)² cells around each, fewer at the border.
Cells box_mean(const Cells& cells, int width, int height, int radius);
// What stands out of its surroundings, grey levels.
Cells high_pass(const Cells& cells, int width, int height);
// Of each cell, over all pictures; at least one.
Cells median_of(std::span<const Cells> pictures);
// Cells that lie within `radius` of one of the mask.
CellMask widened(const CellMask& mask, int width, int height, int radius);
// The least box around the mask's cells.
CellBox box_of(const CellMask& mask, int width, int height);
std::size_t count_of(const CellMask& mask);
// 6 times the median |a − b|, 4 σ of noise, at least `least`: what lies above is no noise.
float news_limit(const Cells& a, const Cells& b, float least);

// Of both over the cells of the mask: how alike they are, −1 to 1 (0 without contrast), and the mean square
// of each.
struct Likeness {
  double correlation = 0;
  double energy_a = 0;
  double energy_b = 0;
};
Likeness compare(const Cells& a, const Cells& b, const CellMask& mask);

}  // namespace rookery::vision
