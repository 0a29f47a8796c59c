// The eight scenes of the Saltmarsh Repair Hall. A scene is a function of its seed and the time since it
// began: the same two give the same picture.
#pragma once

#include <memory>
#include <optional>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "sim/canvas.h"
#include "sim/printed_object.h"
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

// The work that a scene shows, at a moment: for scoring the film that is made of it.
struct JobTruth {
  std::int64_t number = 0;  // which job of the scene
  bool under_way = true;    // false: between two jobs
  double grown = 0;         // the part's size, never less than before in one job; cm, or a share from 0 to 1
  std::optional<Point> head{};  // of the tool, pixels
  std::optional<Point> foot{};  // of the part, pixels
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

// What a printer makes and how fast, when it is not what the scene's own haste asks for.
struct PrintJob {
  std::optional<PrintedKind> kind;  // none: the scene's own
  float layer_seconds = 4;          // 1 to 3600; a layer as the eye sees it
  bool from_start = false;          // else a good part of the first print is done when the scene begins
  float rest_seconds = 45;          // between two prints; 10 to 86 400. Somebody takes the print off at 30 s
  // What goes wrong, and when; seconds since the scene began.
  std::optional<double> detached_at_s{};  // the part comes off and is pushed aside; the head goes on
  std::optional<double> dry_at_s{};       // nothing comes out any more; the head goes on
  std::optional<double> mess_at_s{};      // what comes out makes strands beside the part, more and more
};

// anvil, bobbin or cog at such a job. Errors: those of make_scene; invalid_value for a number outside its
// range.
base::Result<std::unique_ptr<Scene>> make_printer_scene(std::string_view name, std::uint64_t seed, Size size,
                                                        const PrintJob& job);

}  // namespace rookery::sim
