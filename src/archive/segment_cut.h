// Inner: when a camera's segment ends and the next begins. Pure.
#pragma once

#include <string_view>

#include "base/time.h"
#include "camera/frame.h"

namespace rookery::archive {

enum class Cut {
  none,
  length,     // a multiple of the segment length has passed on the wall clock
  size,       // the picture's size changed
  clock_set,  // wall and monotonic clock came apart
  gap,        // no frame for long
};
std::string_view name_of(Cut cut);

// What of an open segment and its last frame decides.
struct SegmentSoFar {
  base::WallTime first_wall;
  base::MonoTime first_mono;
  base::MonoTime last_mono;
  camera::PixelSize size;
};

// Learns what interval between frames is usual for a camera, and so what a gap is.
class UsualInterval {
 public:
  void add(base::Microseconds interval);
  // Longer without a frame is a gap: 5 s, or eight usual intervals. 60 s as long as nothing is known.
  base::Microseconds gap_limit() const;

 private:
  base::Microseconds usual_{0};
};

Cut cut_before(const SegmentSoFar& segment, const camera::Frame& next, std::chrono::seconds segment_length,
               base::Microseconds gap_limit);

// The same question while no frame comes.
Cut cut_while_idle(const SegmentSoFar& segment, base::WallTime now_wall, base::MonoTime now_mono,
                   std::chrono::seconds segment_length, base::Microseconds gap_limit);

}  // namespace rookery::archive
