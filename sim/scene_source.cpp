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

}  // namespace

SceneSource::SceneSource(std::unique_ptr<Scene> scene, SceneSourceOptions options)
    : SceneSource(at_once(std::move(scene)), options) {}

SceneSource::SceneSource(std::shared_future<std::shared_ptr<Scene>> scene, SceneSourceOptions options)
    : options_(options), scene_(std::move(scene)) {
  if (options.start != base::WallTime{}) start_ = options.start;
}

bool SceneSource::ready() const {
  return scene_.wait_for(std::chrono::seconds(0)) == std::future_status::ready;
}

SceneTime SceneSource::scene_time(base::WallTime wall) {
  const std::lock_guard lock(mutex_);
  if (!start_) start_ = wall;
  last_ = std::max(last_, wall);
  // A clock set back must not give times before the beginning.
  return std::max(SceneTime{}, std::chrono::duration_cast<SceneTime>(wall - *start_));
}

const Picture& SceneSource::compose(Scene& scene, const FrameRequest& request) {
  const SceneTime t = scene_time(request.wall);
  if (picture_.size != scene.size()) picture_ = Picture(scene.size());
  Canvas canvas(picture_);
  scene.draw(canvas, t);
  if (request.faults.changes_picture()) apply_optics(picture_, request.faults, t);
  if (request.boot > 1 || options_.settle_at_start) apply_settling(picture_, request.since_boot);
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

Bytes SceneSource::next(const FrameRequest& request) {
  const std::shared_ptr<Scene> scene = scene_.get();
  return encoder_.encode(compose(*scene, request), options_.quality);
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
  }
  for (const Motion& motion :
       scene_.get()->motions(std::chrono::duration_cast<SceneTime>(last - start) + SceneTime(1))) {
    events.push_back(TruthEvent{start + motion.start, std::min(last, start + motion.end),
                                std::string(motion.what), motion.region});
  }
  return events;
}

}  // namespace rookery::sim
