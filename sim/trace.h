// A small ray tracer that renders what stands still in a scene, and the sprites of what moves, once: boxes,
// cylinders, ellipsoids and capsules with bevelled edges, procedural materials, soft shadows and ambient
// occlusion. Lengths in centimetres; x to the right, y away from the viewer, z up.
#pragma once

#include <functional>
#include <vector>

#include "sim/types.h"
#include "sim/vec.h"

namespace rookery::sim {

enum class Finish : std::uint8_t {
  plain,
  wood,    // boards along x
  planks,  // boards along z (doors)
  brick,   // courses along z, for walls
  plaster,
  concrete,
  brushed,   // metal drawn along x
  pegboard,  // holes every 2.5 cm, for walls facing the viewer
  tiles,     // 30 cm floor
  soil,
  asphalt,
};

struct Material {
  Vec3 colour{0.5F, 0.5F, 0.5F};  // linear reflectance, 0–1
  float gloss = 0.05F;            // strength of highlights, 0–1
  float sharpness = 30;           // of highlights
  Finish finish = Finish::plain;
  Vec3 glow{};        // light that it gives off itself
  bool casts = true;  // throws shadows
};

enum class Shape : std::uint8_t { box, cylinder, ellipsoid, capsule };

struct Solid {
  Shape shape = Shape::box;
  Vec3 centre;  // capsule: one end
  Vec3 half;    // box, ellipsoid: half sizes; cylinder: {radius, half length, –}; capsule: the other end
  float radius = 0;  // capsule
  int axis = 2;      // cylinder: 0 x, 1 y, 2 z
  float yaw = 0;     // box: turned about z, radians
  float bevel = 0.3F;
  Material material;
  bool front = false;  // covers what moves
};

struct Lamp {
  Vec3 place;
  Vec3 colour;  // power; falls with the square of the distance in metres
  float radius = 10;
};

struct Camera {
  Vec3 eye;
  Vec3 target;
  float view = 60;  // horizontal angle, degrees
};

struct World {
  std::vector<Solid> solids;
  std::vector<Lamp> lamps;          // at most 3
  Vec3 sky{0.3F, 0.33F, 0.4F};      // light from above
  Vec3 ground{0.12F, 0.1F, 0.08F};  // light from below
  Vec3 backdrop{0, 0, 0};
  Camera camera;
};

// A picture in linear light with its coverage; a pixel of `colour` is multiplied by its alpha.
struct Film {
  int width = 0;
  int height = 0;
  std::vector<Vec3> colour;
  std::vector<float> alpha;  // 0 where the ray hit nothing
  std::vector<float> front;  // coverage by solids that cover what moves
};

// Where points of space come to lie in the picture, and the other way round.
class Projection {
 public:
  Projection(const Camera& camera, Size size);
  // Pixels from the upper left corner, z = depth in centimetres along the view.
  Vec3 project(Vec3 point) const;
  // Unit direction of the ray through a pixel position.
  Vec3 ray(float x_px, float y_px) const;
  Vec3 eye() const { return eye_; }
  // Pixels that a centimetre takes at that depth.
  float scale(float depth) const { return focal_ / depth; }

 private:
  Vec3 eye_;
  Vec3 right_;
  Vec3 down_;
  Vec3 forward_;
  float focal_ = 1;
  float cx_ = 0;
  float cy_ = 0;
};

// Renders the rectangle `region` of the picture of `size` (empty: all of it). The film has the region's size.
Film render(const World& world, Size size, Region region = {});

// The light that falls on a surface point without looking for shadows: for things that are shaded later.
Vec3 shade_simply(const World& world, const Material& material, Vec3 point, Vec3 normal, Vec3 towards_eye,
                  float openness);

// Solids, in short.
Solid box(Vec3 centre, Vec3 half, Material material, float bevel = 0.3F, float yaw = 0);
// From corner to corner.
Solid block(Vec3 low, Vec3 high, Material material, float bevel = 0.3F);
Solid cylinder(Vec3 centre, float radius, float half_length, int axis, Material material, float bevel = 0.2F);
Solid ellipsoid(Vec3 centre, Vec3 half, Material material);
Solid capsule(Vec3 from, Vec3 to, float radius, Material material);

}  // namespace rookery::sim
