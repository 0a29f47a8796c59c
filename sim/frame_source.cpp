#include "sim/frame_source.h"

#include <cassert>

namespace rookery::sim {

ListSource::ListSource(std::vector<Bytes> pictures) : pictures_(std::move(pictures)) {
  assert(!pictures_.empty());
}

Bytes ListSource::next(const FrameRequest&) {
  Bytes picture = pictures_[next_];
  next_ = (next_ + 1) % pictures_.size();
  return picture;
}

}  // namespace rookery::sim
