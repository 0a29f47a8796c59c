#include "camera/pre_roll.h"

#include <algorithm>

namespace rookery::camera {

void PreRoll::set(std::chrono::milliseconds length, std::size_t most_bytes) {
  length_ = length;
  most_bytes_ = most_bytes;
  shorten();
}

void PreRoll::add(FramePtr frame) {
  bytes_ += frame->bytes.size();
  frames_.push_back(std::move(frame));
  shorten();
}

std::vector<FramePtr> PreRoll::take(base::MonoTime from, base::MonoTime until) {
  const auto arrived = [](const FramePtr& frame) { return frame->arrived_mono; };
  const auto first = std::ranges::lower_bound(frames_, from, {}, arrived);
  const auto last = std::ranges::upper_bound(first, frames_.end(), until, {}, arrived);
  std::vector<FramePtr> taken(first, last);
  for (const FramePtr& frame : taken) bytes_ -= frame->bytes.size();
  frames_.erase(first, last);
  return taken;
}

void PreRoll::clear() {
  frames_.clear();
  bytes_ = 0;
}

std::chrono::milliseconds PreRoll::covers() const {
  if (frames_.empty()) return std::chrono::milliseconds{0};
  return std::chrono::duration_cast<std::chrono::milliseconds>(frames_.back()->arrived_mono -
                                                               frames_.front()->arrived_mono);
}

void PreRoll::shorten() {
  while (!frames_.empty() &&
         (bytes_ > most_bytes_ || frames_.back()->arrived_mono - frames_.front()->arrived_mono > length_)) {
    drop_oldest();
  }
}

void PreRoll::drop_oldest() {
  bytes_ -= frames_.front()->bytes.size();
  frames_.pop_front();
}

}  // namespace rookery::camera
