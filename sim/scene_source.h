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
  // Starts before its scene is made; ready() is false until `scene` has it.
  SceneSource(std::shared_future<std::shared_ptr<Scene>> scene, SceneSourceOptions options);
  Bytes next(const FrameRequest& request) override;
  bool ready() const override;
  std::vector<TruthEvent> truth() const override;

  // The picture before encoding, for tests and measurements; valid until the next call.
  const Picture& compose(Scene& scene, const FrameRequest& request);

 private:
  SceneTime scene_time(base::WallTime wall);

  const SceneSourceOptions options_;
  std::shared_future<std::shared_ptr<Scene>> scene_;
  Picture picture_;
  Picture small_;
  Encoder encoder_;
  mutable std::mutex mutex_;  // guards what follows
  std::optional<base::WallTime> start_;
  base::WallTime last_{};
};

}  // namespace rookery::sim
