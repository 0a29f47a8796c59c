#include "archive/lapse_beside.h"

#include <algorithm>

namespace rookery::archive {

base::Microseconds BesideFinder::reach(std::size_t pick, bool before) const {
  if (picks_.size() < 2) return base::Microseconds{0};
  // The first and the last reach as far outwards as inwards.
  const bool to_before = pick == 0 ? false : before || pick + 1 == picks_.size();
  const std::size_t other = to_before ? pick - 1 : pick + 1;
  return (to_before ? picks_[pick] - picks_[other] : picks_[other] - picks_[pick]) / 4;
}

void BesideFinder::see(base::Microseconds at) {
  while (next_ < picks_.size() && picks_[next_] < at) {
    ++next_;
    behind_ = 0;
    recent_.clear();
  }
  if (next_ < picks_.size() && picks_[next_] == at) {
    for (const base::Microseconds before : recent_) found_.push_back({before, next_});
    recent_.clear();
    return;
  }
  if (next_ > 0 && behind_ < kOnASide && at - picks_[next_ - 1] < reach(next_ - 1, false)) {
    found_.push_back({at, next_ - 1});
    ++behind_;
    return;
  }
  if (next_ == picks_.size() || picks_[next_] - at >= reach(next_, true)) return;
  if (recent_.size() == kOnASide) recent_.erase(recent_.begin());
  recent_.push_back(at);
}

}  // namespace rookery::archive
