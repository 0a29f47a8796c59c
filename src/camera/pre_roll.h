// PreRoll: the last seconds of one camera's frames, in memory.
#pragma once

#include <chrono>
#include <cstddef>
#include <deque>
#include <vector>

#include "camera/frame.h"

namespace rookery::camera {

// Holds frames by reference: a frame that others hold as well costs nothing more. Bounded twice: by time and
// by bytes; what is over either bound goes, the oldest first. strand-bound.
class PreRoll {
 public:
  // Frames older than `length` before the newest go; so do the oldest while all have more than `most_bytes`.
  void set(std::chrono::milliseconds length, std::size_t most_bytes);

  // Frames come in order of arrival.
  void add(FramePtr frame);

  // Takes out those that arrived from `from` until `until`, both included, the oldest first.
  std::vector<FramePtr> take(base::MonoTime from, base::MonoTime until);
  void clear();

  std::size_t frames() const { return frames_.size(); }
  std::size_t bytes() const { return bytes_; }
  std::size_t most_bytes() const { return most_bytes_; }
  // Between the oldest and the newest.
  std::chrono::milliseconds covers() const;

 private:
  void shorten();
  void drop_oldest();

  std::deque<FramePtr> frames_;
  std::size_t bytes_ = 0;
  std::chrono::milliseconds length_{0};
  std::size_t most_bytes_ = 0;
};

}  // namespace rookery::camera
