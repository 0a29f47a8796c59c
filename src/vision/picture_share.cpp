#include "vision/picture_share.h"

#include <array>

namespace rookery::vision {
namespace {

constexpr double kMostOfSide = 0.7;

// 0, 1, 2: the third that the middle lies in; 3: most of the side.
std::size_t third_of(double from, double length) {
  if (length > kMostOfSide) return 3;
  const double middle = from + length / 2;
  if (middle < 1.0 / 3) return 0;
  return middle < 2.0 / 3 ? 1 : 2;
}

}  // namespace

PictureShare share_of(const CellBox& box, int grid_width, int grid_height) {
  if (box.empty() || grid_width <= 0 || grid_height <= 0) return {};
  const double width = grid_width;
  const double height = grid_height;
  return {box.x / width, box.y / height, box.width / width, box.height / height};
}

std::string_view words_for(const PictureShare& share) {
  if (share == PictureShare{}) return "";  // no place is known
  using Row = std::array<std::string_view, 4>;
  static constexpr std::array<Row, 4> kWords = {
      Row{"upper left", "upper centre", "upper right", "upper part"},
      Row{"left", "centre", "right", "middle, all across"},
      Row{"lower left", "lower centre", "lower right", "lower part"},
      Row{"left side", "middle, top to bottom", "right side", "whole picture"},
  };
  return kWords[third_of(share.y, share.height)][third_of(share.x, share.width)];
}

}  // namespace rookery::vision
