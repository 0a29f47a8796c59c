// A scene as a board's camera sees it: sensor noise, exposure, faults of the picture, the clock, JPEG.
#pragma once

#include <future>
#include <mutex>

#include "sim/encoder.h"
#include "sim/frame_source.h"
#include "sim/scene.h"

namespace rookery::sim {

struct SceneSourceOptions {
  int quality = 50;        // IJG scale; what a picture weighs is in bench/sim_bench
  std::uint64_t seed = 1;  // of the noise
  bool settle_at_start =
      false;  // whether the first boot shows the exposure settling too; later ones always do
  bool clock = true;
  base::WallTime start{};  // when the scene began; zero: at the first picture
};

class SceneSource final : public FrameSource {
 public:
  explicit SceneSource(std::unique_ptr<Scene> scene, SceneSourceOptions options = {});
  // Starts before its scene is made. `rough` is the same scene at half the width and height, which is made in
  // a quarter of the time: its pictures, enlarged, are shown until `scene` is there. ready() is false until
  // one of the two is. An invalid `rough`: there is none.
  SceneSource(std::shared_future<std::shared_ptr<Scene>> scene, SceneSourceOptions options,
              std::shared_future<std::shared_ptr<Scene>> rough = {});
  Bytes next(const FrameRequest& request) override;
  bool ready() const override;
  std::vector<TruthEvent> truth() const override;

  // The picture before encoding, for tests and measurements; valid until the next call.
  const Picture& compose(Scene& scene, const FrameRequest& request) { return compose(scene, request, false); }
  // True once pictures are drawn at their full sharpness. any-thread.
  bool sharp() const;

 private:
  SceneTime scene_time(base::WallTime wall);
  void note_settling(const FrameRequest& request);
  Region whole() const;
  const Picture& compose(Scene& scene, const FrameRequest& request, bool enlarge);
  void note_sharp(base::WallTime wall);

  const SceneSourceOptions options_;
  std::shared_future<std::shared_ptr<Scene>> scene_;
  std::shared_future<std::shared_ptr<Scene>> rough_;  // on the strand only; let go when it is not needed
  bool was_rough_ = false;
  Picture picture_;
  Picture small_;
  Encoder encoder_;
  mutable std::mutex mutex_;  // guards what follows
  std::optional<base::WallTime> start_;
  base::WallTime last_{};
  std::vector<TruthEvent> settled_;  // boots whose first pictures were taken; the picture getting sharp
  std::uint64_t settled_boot_ = 0;
};

}  // namespace rookery::sim
