// Inner: which pictures were taken just before and after those that a film shows.
#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "base/time.h"

namespace rookery::archive {

struct Beside {
  base::Microseconds at{0};
  std::size_t pick = 0;
};

// Of each pick the thirteen pictures before and behind it, where they are nearer to it than a quarter
// of the way to the next pick on that side: what is taken from them is of the same moment of the film. One
// user, once.
class BesideFinder {
 public:
  static constexpr std::size_t kOnASide = 13;

  // picks: strictly rising; borrowed.
  explicit BesideFinder(const std::vector<base::Microseconds>& picks) : picks_(picks) {}
  // Every picture's time, the picks' among them, strictly rising.
  void see(base::Microseconds at);
  // In order of time, and so of picks.
  std::vector<Beside> take() { return std::move(found_); }

 private:
  base::Microseconds reach(std::size_t pick, bool before) const;

  const std::vector<base::Microseconds>& picks_;
  std::size_t next_ = 0;                    // the first pick that is not before what was seen last
  std::size_t behind_ = 0;                  // how many were found behind the pick before it
  std::vector<base::Microseconds> recent_;  // before `next_`, at most kOnASide
  std::vector<Beside> found_;
};

}  // namespace rookery::archive
