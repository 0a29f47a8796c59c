// People cut out of a film, to be pasted into other pictures.
#pragma once

#include <vector>

#include "sim/canvas.h"

namespace rookery::bench {

// Somebody who walks: what to draw picture by picture, and where it was in the film (upper left, pixels).
struct Walk {
  std::vector<sim::Sprite> sprites;
  std::vector<sim::Point> at;
  // Round all of it, in the film.
  sim::Region path() const;
};

// Whoever differs from `background`, is followed for 15 pictures at least (40 at most), does not touch the
// picture's border or another, and comes 40 pixels far. Edges are soft: opacity grows with the difference.
// The pictures are consecutive and of one size with `background`.
std::vector<Walk> cut_walks(const std::vector<sim::Picture>& pictures, const sim::Picture& background);

}  // namespace rookery::bench
