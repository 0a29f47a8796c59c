// Inner: how far one picture is shifted and turned against another, where the shift is known roughly: least
// squares on detail (Lucas and Kanade 1981), as far as both agree.
#pragma once

#include <span>
#include <vector>

#include "jpeg/luma_plane.h"

namespace rookery::vision {

// A point at (x, y) from the picture's middle lies at R(turn)·(x, y) + (dx, dy) afterwards: to the right and
// down, clockwise as it is seen.
struct RigidMove {
  double dx_px = 0;
  double dy_px = 0;
  double turn_deg = 0;
};
// First `a`, then `b`.
RigidMove joined(const RigidMove& a, const RigidMove& b);

// A picture's detail at two sizes, the smaller first.
struct MatchPicture {
  struct Level {
    int width = 0;
    int height = 0;
    std::vector<float> detail;
  };
  std::vector<Level> levels;
};

// strand-bound. For pictures of one size, 64×48 to 4096×4096.
class RigidMatch {
 public:
  // weights: how much each pixel of the picture counts, 0 to 1; width·height of them.
  RigidMatch(int width_px, int height_px, std::span<const float> weights);

  MatchPicture compute(const jpeg::LumaPlane& plane) const;
  // Where `now` lies against `before`, from a beginning that is off by a twentieth of the width and 1.5° at
  // most.
  RigidMove match(const MatchPicture& before, const MatchPicture& now, const RigidMove& start) const;
  // The best of several beginnings, up to most_deg to either side.
  RigidMove search(const MatchPicture& before, const MatchPicture& now, const RigidMove& start,
                   double most_deg) const;
  // Correlation of the detail of both, `now` taken back by `move`: −1 to 1.
  double likeness(const MatchPicture& before, const MatchPicture& now, const RigidMove& move) const;

 private:
  struct Size {
    int width = 0;
    int height = 0;
    double scale = 1;  // pixels of the picture in one of it
    std::vector<float> weights;
  };
  RigidMove refine(std::size_t level, const MatchPicture& before, const MatchPicture& now,
                   RigidMove move) const;
  double likeness_at(std::size_t level, const MatchPicture& before, const MatchPicture& now,
                     const RigidMove& move) const;

  int width_px_;
  int height_px_;
  std::vector<Size> sizes_;
};

}  // namespace rookery::vision
