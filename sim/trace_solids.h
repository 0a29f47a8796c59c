// Where a ray meets a solid, which way its surface faces there and what colour it has. Pure.
#pragma once

#include "sim/trace.h"

namespace rookery::sim {

// The upright box round a solid.
struct Bounds {
  Vec3 low;
  Vec3 high;
};
Bounds bounds_of(const Solid& solid);

// Distance along the unit direction to the first surface in front of `from`; ≤ 0 when there is none.
float hit_distance(const Solid& solid, Vec3 from, Vec3 direction);
// The surface's unit normal at a point on it, rounded near the edges by the bevel.
Vec3 normal_at(const Solid& solid, Vec3 point);
// The material's colour at a point; tilts the normal where the finish is rough.
Vec3 surface_colour(const Material& material, Vec3 point, Vec3& normal);

}  // namespace rookery::sim
