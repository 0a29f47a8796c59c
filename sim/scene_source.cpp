#include "sim/scene_source.h"

#include "sim/clock_code.h"
#include "sim/picture_faults.h"

namespace rookery::sim {
namespace {

std::shared_future<std::shared_ptr<Scene>> at_once(std::unique_ptr<Scene> scene) {
  std::promise<std::shared_ptr<Scene>> promise;
  promise.set_value(std::move(scene));
  return promise.get_future().share();
}

bool is_there(const std::shared_future<std::shared_ptr<Scene>>& scene) {
  return scene.valid() && scene.wait_for(std::chrono::seconds(0)) == std::future_status::ready;
}

constexpr SceneTime kTrackStep{500'000};

Region zoomed(Region r, int by) { return {r.x * by, r.y * by, r.width * by, r.height * by}; }

// Where it was, twice a second, until `last`; nothing where it is hidden.
std::vector<TruthBox> track_of(const Scene& scene, int zoom, const Motion& motion, base::WallTime start,
                               base::WallTime last) {
  std::vector<TruthBox> track;
  for (SceneTime t = motion.start; t < motion.end && start + t <= last; t += kTrackStep) {
    for (const MovingBox& box : scene.moving_at(t)) {
      if (box.what == motion.what) track.push_back({start + t, zoomed(box.region, zoom)});
    }
  }
  return track;
}

}  // namespace

SceneSource::SceneSource(std::unique_ptr<Scene> scene, SceneSourceOptions options)
    : SceneSource(at_once(std::move(scene)), options) {}

SceneSource::SceneSource(std::shared_future<std::shared_ptr<Scene>> scene, SceneSourceOptions options,
                         std::shared_future<std::shared_ptr<Scene>> rough)
    : options_(options), scene_(std::move(scene)), rough_(std::move(rough)) {
  if (options.start != base::WallTime{}) start_ = options.start;
}

bool SceneSource::ready() const { return sharp() || is_there(rough_); }

bool SceneSource::sharp() const { return is_there(scene_); }

SceneTime SceneSource::scene_time(base::WallTime wall) {
  const std::lock_guard lock(mutex_);
  if (!start_) start_ = wall;
  last_ = std::max(last_, wall);
  // A clock set back must not give times before the beginning.
  return std::max(SceneTime{}, std::chrono::duration_cast<SceneTime>(wall - *start_));
}

const Picture& SceneSource::compose(Scene& scene, const FrameRequest& request, bool enlarge) {
  const SceneTime t = scene_time(request.wall);
  const Size size = enlarge ? Size{scene.size().width * 2, scene.size().height * 2} : scene.size();
  if (picture_.size != size) picture_ = Picture(size);
  Canvas canvas(picture_);
  if (enlarge) {
    if (small_.size != scene.size()) small_ = Picture(scene.size());
    Canvas half(small_);
    scene.draw(half, t);
    double_into(picture_, small_);
  } else {
    scene.draw(canvas, t);
  }
  if (request.faults.changes_picture()) apply_optics(picture_, request.faults, t);
  if (request.boot > 1 || options_.settle_at_start) {
    apply_settling(picture_, request.since_boot);
    note_settling(request);
  }
  const auto hot = static_cast<float>(request.faults.strength(Fault::hot));
  const auto salt =
      hash32(static_cast<std::uint32_t>(options_.seed), static_cast<std::uint32_t>(t.count() / 1000));
  add_noise(picture_, std::max(hot, scene.noise(t)), salt);
  if (options_.clock) draw_clock(canvas, request.wall);
  if (request.faults.has(Fault::green_band))
    apply_green_band(picture_, request.faults.strength(Fault::green_band));
  if (!request.faults.has(Fault::size_change)) return picture_;
  small_ = halved(picture_);
  return small_;
}

void SceneSource::note_settling(const FrameRequest& request) {
  if (request.since_boot > kSettling || settled_boot_ == request.boot) return;
  const base::WallTime booted = request.wall - request.since_boot;
  const std::lock_guard lock(mutex_);
  settled_boot_ = request.boot;
  settled_.push_back({booted, booted + kSettling, TruthKind::light, "exposure settles", whole(), 0, {}});
}

Region SceneSource::whole() const { return {0, 0, picture_.size.width, picture_.size.height}; }

Bytes SceneSource::next(const FrameRequest& request) {
  const bool rough = !sharp() && is_there(rough_);
  const std::shared_ptr<Scene> scene = rough ? rough_.get() : scene_.get();
  if (!rough && was_rough_) note_sharp(request.wall);
  was_rough_ = rough;
  return encoder_.encode(compose(*scene, request, rough), options_.quality);
}

void SceneSource::note_sharp(base::WallTime wall) {
  const std::lock_guard lock(mutex_);
  settled_.push_back({wall, wall, TruthKind::light, "picture sharpens", whole(), 0, {}});
}

std::vector<TruthEvent> SceneSource::truth() const {
  std::vector<TruthEvent> events;
  if (!ready()) return events;
  base::WallTime start;
  base::WallTime last;
  {
    const std::lock_guard lock(mutex_);
    if (!start_) return events;
    start = *start_;
    last = last_;
    events = settled_;
  }
  for (TruthEvent& event : events) event.end = std::min(event.end, last);
  // The rough scene is the same at half the size: what happens in it is the truth as well.
  const int zoom = sharp() ? 1 : 2;
  const std::shared_ptr<const Scene> shown = zoom == 1 ? scene_.get() : rough_.get();
  const Scene& scene = *shown;
  for (const Motion& motion :
       scene.motions(std::chrono::duration_cast<SceneTime>(last - start) + SceneTime(1))) {
    TruthEvent event{start + motion.start,
                     std::min(last, start + motion.end),
                     motion.kind,
                     std::string(motion.what),
                     zoomed(motion.region, zoom),
                     0,
                     {}};
    if (motion.kind == TruthKind::wanted) event.track = track_of(scene, zoom, motion, start, last);
    events.push_back(std::move(event));
  }
  if (options_.clock)
    events.push_back(
        {start, last, TruthKind::ambient, "clock", zoomed(clock_region(scene.size()), zoom), 0, {}});
  std::stable_sort(events.begin(), events.end(),
                   [](const auto& a, const auto& b) { return a.start < b.start; });
  return events;
}

}  // namespace rookery::sim
