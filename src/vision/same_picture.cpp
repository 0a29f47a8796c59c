#include "vision/same_picture.h"

#include <algorithm>

namespace rookery::vision {

void SamePicture::add(std::uint64_t hash, base::MonoTime at) {
  if (hash_ != hash) {
    hash_ = hash;
    since_ = at;
    pictures_ = 1;
    counted_ = false;
    return;
  }
  ++pictures_;
  const auto lasted = at - since_;
  if (pictures_ < kFewestPictures || lasted < kShortest) return;
  if (!counted_) ++times_;
  counted_ = true;
  longest_ = std::max(longest_, std::chrono::duration<double>(lasted));
}

}  // namespace rookery::vision
