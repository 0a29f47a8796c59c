// A detector and its events: grids in, events out.
#pragma once

#include "vision/motion_detector.h"
#include "vision/motion_events.h"

namespace rookery::vision {

// What a MotionDetector and a MotionEvents make of one camera's grids; theirs say what to give. Pure.
class MotionWatch {
 public:
  explicit MotionWatch(Sensitivity sensitivity = {}, Mask mask = {})
      : detector_(sensitivity, std::move(mask)), events_(sensitivity) {}
  void set(Sensitivity sensitivity, Mask mask);

  // The event that is over with this picture, if one is. A picture of another size ends what is under way:
  // boxes of two sizes cannot be one event's.
  std::optional<MotionEvent> add(const jpeg::LumaGrid& grid, base::Microseconds at);
  // Movement in the picture added last, on the scale of MotionEnergy.
  std::uint8_t energy() const { return energy_; }

  const std::optional<MotionEvent>& under_way() const& { return events_.under_way(); }
  std::optional<MotionEvent> finish() { return events_.finish(); }

  // The camera was away: what it shows now is learned anew quickly, without an event.
  void resume() { detector_.resume(); }
  std::vector<std::byte> save() const { return detector_.save(); }
  base::Result<void> restore(std::span<const std::byte> saved) { return detector_.restore(saved); }

 private:
  MotionDetector detector_;
  MotionEvents events_;
  std::uint8_t energy_ = 0;
  int width_ = 0;
  int height_ = 0;
};

}  // namespace rookery::vision
