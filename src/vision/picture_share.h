// A part of the picture as shares of it, and in words.
#pragma once

#include <string_view>

#include "vision/cell_box.h"

namespace rookery::vision {

// 0–1; x and y of the upper left corner.
struct PictureShare {
  double x = 0;
  double y = 0;
  double width = 0;
  double height = 0;
  bool operator==(const PictureShare&) const = default;
};

// All 0 for an empty box or grid.
PictureShare share_of(const CellBox& box, int grid_width, int grid_height);

// Where that is: "lower left", "centre", "right side", "upper part", "whole picture". By the thirds that its
// middle lies in; what is longer than 0.7 of a side has no third of that side.
std::string_view words_for(const PictureShare& share);

}  // namespace rookery::vision
