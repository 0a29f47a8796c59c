// Motion energy: one number for how much a picture differs from the one before. Pure.
#pragma once

#include <cstdint>

#include "jpeg/luma_grid.h"

namespace rookery::vision {

// Feeds on luma grids (1/8 scale, grey levels 0–255) of one camera in order of time. Takes out global gain
// and offset (exposure drift) before it compares.
class MotionEnergy {
 public:
  // The share of cells that changed by more than the noise allows, mapped to 0–255 (255 = 25 % of the picture
  // or more; square-root scale, so that 0.1 % reads as 16). The first grid and a change of size give 0.
  std::uint8_t add(const jpeg::LumaGrid& grid);

 private:
  jpeg::LumaGrid previous_;
  double noise_ = 2.0;  // grey levels, follows the picture
};

}  // namespace rookery::vision
