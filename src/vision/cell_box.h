// A rectangle of cells of a luma grid.
#pragma once

#include <algorithm>

namespace rookery::vision {

// Cells are 8×8 pixels; empty when width or height is 0.
struct CellBox {
  int x = 0;
  int y = 0;
  int width = 0;
  int height = 0;
  bool operator==(const CellBox&) const = default;
  bool empty() const { return width <= 0 || height <= 0; }

  // The least box that holds both.
  CellBox united(const CellBox& other) const {
    if (empty()) return other;
    if (other.empty()) return *this;
    const int left = std::min(x, other.x);
    const int top = std::min(y, other.y);
    return {left, top, std::max(x + width, other.x + other.width) - left,
            std::max(y + height, other.y + other.height) - top};
  }
};

}  // namespace rookery::vision
