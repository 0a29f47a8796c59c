// What the printers make: bodies cut off at the height printed so far, rendered as cut-outs.
#pragma once

#include "sim/canvas.h"
#include "sim/trace.h"

namespace rookery::sim {

enum class PrintedKind : std::uint8_t {
  vase,
  gear,
  tower,
  bracket,  // L-shaped, with a gusset
  plate,    // five small parts
  rod,      // tall and thin
  hollow,   // kept for scoring only: an open case
  ring,     // kept for scoring only
  twist,    // kept for scoring only: a twisted square column
};

// How a part stands that no longer stands as it was printed, or was not printed straight.
struct PartPose {
  float tilt = 0;       // radians, 0 to π/2: lying on its side
  float toward = 0;     // the direction in which it leans, radians from x to y
  float yaw = 0;        // turned about its own axis, radians
  float step_from = 0;  // layers above this height stand aside by `step`; cm
  Vec3 step{};
  bool operator==(const PartPose& o) const {
    return tilt == o.tilt && toward == o.toward && yaw == o.yaw && step_from == o.step_from &&
           step.x == o.step.x && step.y == o.step.y;
  }
  bool straight() const { return tilt == 0 && yaw == 0 && step.x == 0 && step.y == 0; }
};

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
  Region region_at(const Projection& view, float printed, Vec3 shift, const PartPose& pose) const;
  // The body as printed up to `printed` cm (0 to height).
  Cut compute_cut(const World& world, const Projection& view, const Look& look, const Material& material,
                  float printed, const PartPose& pose = {}) const;

 private:
  // Negative inside. `p` is measured from the body's place.
  float distance(Vec3 p) const;
  float distance(Vec3 p, const PartPose& pose) const;
  float lift(const PartPose& pose) const;
  Vec3 normal(Vec3 p, const PartPose& pose) const;
  Vec3 top_colour(Vec3 p, const Material& material, const PartPose& pose) const;
  bool march(Vec3 eye, Vec3 direction, float printed, const PartPose& pose, Vec3& point) const;
  PrintedKind kind_;
  Vec3 place_;
};

}  // namespace rookery::sim
