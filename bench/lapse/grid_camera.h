// GridCamera: luma grids of a make-believe scene, as a board's JPEG of 640×480 would give them.
#pragma once

#include <cstdint>
#include <random>
#include <vector>

#include "bench/lapse/job_light.h"
#include "sim/scene.h"

namespace rookery::bench {

inline constexpr int kGridWidth = 80;
inline constexpr int kGridHeight = 60;

// strand-bound. The scene may be drawn smaller: its width is a multiple of 80, its height of 60.
class GridCamera {
 public:
  GridCamera(sim::Scene& scene, Light light, std::uint64_t seed);
  // Without noise or rounding.
  std::vector<float> clean(sim::SceneTime t);
  // A cell is the mean of 64 pixels of 640×480, each with its noise; at IJG quality 50 its value is stored in
  // steps of 2. `lit_at`: the moment of the light, where the scene's time stands still.
  std::vector<std::uint8_t> take(sim::SceneTime t, sim::SceneTime lit_at);
  std::vector<std::uint8_t> take(sim::SceneTime t) { return take(t, t); }

 private:
  sim::Scene& scene_;
  const Light light_;
  sim::Picture picture_;
  std::mt19937 random_;
  std::vector<float> normal_;
};

}  // namespace rookery::bench
