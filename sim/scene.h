// The eight scenes of the Saltmarsh Repair Hall. A scene is a function of its seed and the time since it
// began: the same two give the same picture.
#pragma once

#include <memory>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "sim/canvas.h"
#include "sim/types.h"

namespace rookery::sim {

// Something that moves in a scene from `start` to `end`, within about `region`.
struct Motion {
  SceneTime start;
  SceneTime end;
  std::string_view what;
  Region region;
};

// strand-bound.
class Scene {
 public:
  explicit Scene(Size size) : size_(size) {}
  virtual ~Scene() = default;
  Size size() const { return size_; }
  // Draws everything but clock, noise and faults. The canvas has the scene's size; `t` ≥ 0, in any order.
  virtual void draw(Canvas& canvas, SceneTime t) = 0;
  // All motion that begins before `until`, in order of its start. Works it out from the seed.
  virtual std::vector<Motion> motions(SceneTime until) const = 0;
  // Standard deviation of the sensor's noise in luma steps at time `t`: dark scenes are noisier.
  virtual float noise(SceneTime) const { return 1.6F; }

 private:
  Size size_;
};

// The names of the eight: anvil, bobbin, cog, seedlings, counter, back-door, kiln, bay.
std::span<const std::string_view> scene_names();

// Renders what stands still (a few tenths of a second of work at 640×480). Errors: not_found for another
// name; invalid_value for a size outside 160×120 to 2048×1536 or an odd one.
base::Result<std::unique_ptr<Scene>> make_scene(std::string_view name, std::uint64_t seed, Size size = {});

}  // namespace rookery::sim
