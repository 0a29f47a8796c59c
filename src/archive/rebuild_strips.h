// Inner: strips from recorded frames, for rebuild().
#pragma once

#include <map>

#include "archive/segment_index.h"
#include "archive/strip_store.h"
#include "jpeg/luma_grid.h"
#include "vision/motion_energy.h"

namespace rookery::archive {

// One camera's. Give it the segments in order of time.
class StripMaker {
 public:
  // Reads about one frame a second. Frames that cannot be decoded are passed over.
  void add(const ByteSource& source, const SegmentIndex& index);
  // Steps in rows without a hole.
  std::vector<Strip> strips() const;

 private:
  vision::MotionEnergy energy_;
  jpeg::LumaGrid grid_;
  std::map<base::WallTime, std::uint8_t> steps_;
};

}  // namespace rookery::archive
