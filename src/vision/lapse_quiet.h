// Quieting a lapse's frame: what noise makes of a JPEG's blocks, whose light is sent in steps, is taken out
// by the pictures that were taken just before and after it.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "vision/lapse_planes.h"

namespace rookery::vision {

// Of one frame: the light of each of its cells (a luma grid's: a JPEG's blocks) is drawn to the median of
// what the pictures beside it show there. Only those count in which the cell is at most a few grey levels
// from the frame's own, so what moves stays as it stands in the frame, and every value is one that was seen
// there. strand-bound.
class QuietCells {
 public:
  // cells: grey levels; copied.
  explicit QuietCells(std::span<const std::uint8_t> cells) : own_(cells.begin(), cells.end()) {}

  // As many cells; copied. Another number of them, or most of them far from the frame's (another light,
  // another view), is not taken: false.
  bool add(std::span<const std::uint8_t> cells);

  // What is to be added to each cell, grey levels; 0 for all where nothing was taken.
  std::vector<std::int8_t> compute_corrections() const;

  std::size_t taken() const { return beside_.size(); }

 private:
  std::vector<std::uint8_t> own_;
  std::vector<std::vector<std::uint8_t>> beside_;
};

// Adds them to a plane that shows all of a picture of width_px×height_px, whose cells are 8×8 of its pixels.
// limited: the plane's levels lie in 16 to 235. any-thread.
void apply_corrections(std::span<const std::int8_t> corrections, int width_px, int height_px, bool limited,
                       const PlaneView& luma);

}  // namespace rookery::vision
