// Mask: the part of the picture that motion ignores.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace rookery::vision {

// A grid over the picture, painted on a still of a known size. Empty: nothing is ignored.
class Mask {
 public:
  static constexpr int kMostSide = 512;  // cells

  Mask() = default;
  // `ignored`: row by row, columns·rows of them. Errors: invalid_value for a side outside 1 to kMostSide, a
  // picture outside 1 to 65535 pixels, another number of cells.
  static base::Result<Mask> make(int columns, int rows, int picture_width_px, int picture_height_px,
                                 std::vector<bool> ignored);

  bool empty() const { return ignored_.empty(); }
  int columns() const { return columns_; }
  int rows() const { return rows_; }
  int picture_width_px() const { return picture_width_px_; }
  int picture_height_px() const { return picture_height_px_; }
  bool ignores(int column, int row) const {
    return ignored_[static_cast<std::size_t>(row) * static_cast<std::size_t>(columns_) +
                    static_cast<std::size_t>(column)];
  }

  // For a grid of width×height cells, 1 where the cell's middle lies in what is ignored: whatever the size of
  // the picture, a mask covers the share of it that it was painted on. Row by row; all 0 when empty.
  std::vector<std::uint8_t> over(int width, int height) const;

  // "80x60@640x480:" and the runs of cells in turn looked at and ignored, as decimal numbers with commas; ""
  // when empty. parse(text()) gives the same mask. Errors: malformed, invalid_value.
  std::string text() const;
  static base::Result<Mask> parse(std::string_view text);

  bool operator==(const Mask&) const = default;

 private:
  int columns_ = 0;
  int rows_ = 0;
  int picture_width_px_ = 0;
  int picture_height_px_ = 0;
  std::vector<bool> ignored_;
};

}  // namespace rookery::vision
