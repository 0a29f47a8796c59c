// What the printers make: bodies cut off at the height printed so far, rendered as cut-outs.
#pragma once

#include "sim/canvas.h"
#include "sim/trace.h"

namespace rookery::sim {

enum class PrintedKind : std::uint8_t { vase, gear, tower };

// A body standing on z = base around (x, y) of its place. immutable.
class PrintedObject {
 public:
  PrintedObject(PrintedKind kind, Vec3 place) : kind_(kind), place_(place) {}
  float height() const;
  // The largest distance from its axis, cm.
  float reach() const;
  // Distance of the outline from the axis at that height and angle, for the head's way.
  float outline(float z, float angle) const;
  Vec3 place() const { return place_; }

  struct Cut {
    Sprite sprite;
    Point corner;
  };
  // The part of the picture that the body takes, printed up to that height and standing off its place.
  Region region_at(const Projection& view, float printed, Vec3 shift) const;
  // The body as printed up to `printed` cm (0 to height).
  Cut compute_cut(const World& world, const Projection& view, const Look& look, const Material& material,
                  float printed) const;

 private:
  float distance(Vec3 p) const;
  Vec3 normal(Vec3 p) const;
  Vec3 top_colour(Vec3 p, const Material& material) const;
  bool march(Vec3 eye, Vec3 direction, float printed, Vec3& point) const;
  PrintedKind kind_;
  Vec3 place_;
};

}  // namespace rookery::sim
