// Inner: the light of a grid against that of another: smooth over the picture (exposure, a lamp to one side,
// daylight), and a share for each row (mains bands).
#pragma once

#include "jpeg/luma_grid.h"
#include "vision/job_cells.h"

namespace rookery::vision {

// The grid as it would be in the light of `reference`, which has its size. What moved or is new is told from
// light by being less than half of the picture.
Cells levelled(const jpeg::LumaGrid& grid, const Cells& reference);

}  // namespace rookery::vision
