// Motion energy: one number for how much a picture differs from the one before. Pure.
#pragma once

#include <cstdint>
#include <vector>

#include "jpeg/luma_grid.h"

namespace rookery::vision {

// Feeds on luma grids (1/8 scale, grey levels 0–255) of one camera in order of time. Takes out global gain
// and offset (exposure drift) and what shifts a whole row (mains banding) before it compares, and allows for
// noise and for the steps in which JPEG stores the cells.
class MotionEnergy {
 public:
  // The share of cells that changed by more than the noise allows, mapped to 0–255 (255 = 25 % of the picture
  // or more; square-root scale, so that 0.1 % reads as 16). A changed cell counts only with at least three
  // changed ones around it. The first grid and a change of size give 0; so does a damaged grid, which is not
  // compared with the next one either. 13 µs for 80×60 cells on a free core (bench/catalog_bench.cpp).
  std::uint8_t add(const jpeg::LumaGrid& grid);

 private:
  double threshold() const;  // grey levels
  void follow_noise();
  std::size_t count_changed(int threshold);

  jpeg::LumaGrid previous_;
  double noise_ = 2.0;    // grey levels, 90th percentile of |difference|; follows the picture
  double quantum_ = 1.0;  // grey levels between two values that a cell can take
  unsigned compared_ = 0;

  // Kept only for its memory.
  std::vector<std::int16_t> difference_;  // in eighths of a grey level
  std::vector<std::uint8_t> changed_;     // with a frame of zeros around it
  std::vector<std::uint8_t> votes_;
};

}  // namespace rookery::vision
