// The eight scenes of the Saltmarsh Repair Hall. A scene is a function of its seed and the time since it
// began: the same two give the same picture.
#pragma once

#include <memory>
#include <optional>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "sim/canvas.h"
#include "sim/print_job.h"
#include "sim/types.h"

namespace rookery::sim {

// Something that moves in a scene from `start` to `end`, within `region` (a pixel or two more).
struct Motion {
  SceneTime start;
  SceneTime end;
  TruthKind kind = TruthKind::ambient;
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
  void draw(Canvas& canvas, SceneTime t);
  // All motion that begins before `until`, in order of its start, with its region. Works it out from the
  // seed. any-thread.
  std::vector<Motion> motions(SceneTime until) const;
  // What moves at `t` and where: each `what` is that of a motion under way. any-thread.
  std::vector<MovingBox> moving_at(SceneTime t) const;
  // What the job has come to at `t` ≥ 0; nothing for scenes in which nothing is made. any-thread.
  virtual std::optional<JobTruth> job_at(SceneTime) const { return std::nullopt; }
  // Standard deviation of the sensor's noise in luma steps at time `t`: dark scenes are noisier.
  virtual float noise(SceneTime) const { return 1.6F; }

 protected:
  // Gets ready what paint() needs for this moment.
  virtual void prepare(SceneTime) {}
  // Draws, or only notes: whatever moves is drawn after canvas.moving() has said what it is.
  virtual void paint(Canvas& canvas, SceneTime t) const = 0;
  // motions() without regions, in any order.
  virtual std::vector<Motion> happenings(SceneTime until) const = 0;

 private:
  Region region_of(const Motion& motion) const;
  Size size_;
};

// The names of the eight: anvil, bobbin, cog, seedlings, counter, back-door, kiln, bay.
std::span<const std::string_view> scene_names();

// Renders what stands still (a few tenths of a second of work at 640×480). Errors: not_found for another
// name; invalid_value for a size outside 160×120 to 2048×1536 or an odd one.
base::Result<std::unique_ptr<Scene>> make_scene(std::string_view name, std::uint64_t seed, Size size = {});

// anvil, bobbin or cog at such a job. Errors: those of make_scene; invalid_value for what is outside its
// range.
base::Result<std::unique_ptr<Scene>> make_printer_scene(std::string_view name, std::uint64_t seed, Size size,
                                                        const PrintJob& job);

}  // namespace rookery::sim
