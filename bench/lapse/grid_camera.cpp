#include "bench/lapse/grid_camera.h"

#include <algorithm>
#include <cmath>

namespace rookery::bench {

GridCamera::GridCamera(sim::Scene& scene, Light light, std::uint64_t seed)
    : scene_(scene),
      light_(light),
      picture_(scene.size()),
      random_(static_cast<unsigned>(seed)),
      normal_(65'521) {
  std::normal_distribution<float> normal;
  for (float& number : normal_) number = normal(random_);
}

std::vector<float> GridCamera::clean(sim::SceneTime t) {
  sim::Canvas canvas(picture_);
  scene_.draw(canvas, t);
  const int cell = scene_.size().width / kGridWidth;
  std::vector<float> grid;
  grid.reserve(std::size_t{kGridWidth} * kGridHeight);
  for (int y = 0; y < kGridHeight; ++y) {
    for (int x = 0; x < kGridWidth; ++x) {
      int sum = 0;
      for (int row = y * cell; row < (y + 1) * cell; ++row) {
        const std::uint8_t* at = &picture_.y[static_cast<std::size_t>(row * scene_.size().width + x * cell)];
        for (int i = 0; i < cell; ++i) sum += at[i];
      }
      grid.push_back(static_cast<float>(sum) / static_cast<float>(cell * cell));
    }
  }
  return grid;
}

std::vector<std::uint8_t> GridCamera::take(sim::SceneTime t, sim::SceneTime lit_at) {
  const float noise = scene_.noise(t) / 8;
  std::size_t next = random_() % normal_.size();
  std::vector<std::uint8_t> grid;
  const LightNow light(light_, std::chrono::duration<double>(lit_at).count());
  int place = 0;
  for (const float cell : clean(t)) {
    if (++next == normal_.size()) next = 0;
    const double lit =
        light.at((place % kGridWidth + 0.5) / kGridWidth, (place / kGridWidth + 0.5) / kGridHeight);
    ++place;
    const float value = cell * static_cast<float>(lit) + noise * normal_[next];
    grid.push_back(static_cast<std::uint8_t>(std::clamp(2 * std::round(value / 2), 0.0F, 255.0F)));
  }
  return grid;
}

}  // namespace rookery::bench
