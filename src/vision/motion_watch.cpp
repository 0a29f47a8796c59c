#include "vision/motion_watch.h"

namespace rookery::vision {

void MotionWatch::set(Sensitivity sensitivity, Mask mask) {
  detector_.set(sensitivity, std::move(mask));
  events_.set(sensitivity);
}

std::optional<MotionEvent> MotionWatch::add(const jpeg::LumaGrid& grid, base::Microseconds at) {
  std::optional<MotionEvent> over;
  if (grid.width != width_ || grid.height != height_) over = events_.finish();
  width_ = grid.width;
  height_ = grid.height;
  const MotionFrame& frame = detector_.add(grid, at);
  energy_ = frame.energy;
  auto also_over = events_.add(frame, width_, height_);
  // A detector that begins anew with this size has nothing to tell yet.
  return over ? std::move(over) : std::move(also_over);
}

}  // namespace rookery::vision
