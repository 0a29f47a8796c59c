// Inner: the light of a grid against that of another: smooth over the picture (exposure, a lamp to one side,
// daylight), and a share for each row (mains bands).
#pragma once

#include "jpeg/luma_grid.h"
#include "vision/job_cells.h"

namespace rookery::vision {

struct Levelled {
  Cells flat;       // the grid as it would be in the light of the reference
  Cells shares;     // of that light, which the grid has: noise is 1/share as strong in `flat`
  float share = 1;  // the middle one
  float lost = 0;   // of the grid, 0 to 1, what more light than usual may have cut off at white
};

// `reference` has the grid's size. What moved or is new is told from light by being less than half of the
// picture.
Levelled levelled(const jpeg::LumaGrid& grid, const Cells& reference);

}  // namespace rookery::vision
