#include <cmath>

#include "sim/canvas.h"

namespace rookery::sim {

void Canvas::sprite_scaled(const Sprite& s, float x, float y, float scale, float opacity, float gain,
                           bool mirrored) {
  if (noted(x, y, x + static_cast<float>(s.width) * scale, y + static_cast<float>(s.height) * scale)) return;
  const int x0 = std::max(0, static_cast<int>(std::floor(x)));
  const int x1 =
      std::min(p_.size.width - 1, static_cast<int>(std::ceil(x + static_cast<float>(s.width) * scale)));
  const int y0 = std::max(0, static_cast<int>(std::floor(y)));
  const int y1 =
      std::min(p_.size.height - 1, static_cast<int>(std::ceil(y + static_cast<float>(s.height) * scale)));
  const float inverse = 1 / scale;
  for (int py = y0; py <= y1; ++py) {
    const float sy = (static_cast<float>(py) + 0.5F - y) * inverse - 0.5F;
    const int ty = static_cast<int>(std::floor(sy));
    if (ty < 0 || ty + 1 >= s.height) continue;
    const float v = sy - static_cast<float>(ty);
    for (int px = x0; px <= x1; ++px) {
      float sx = (static_cast<float>(px) + 0.5F - x) * inverse - 0.5F;
      if (mirrored) sx = static_cast<float>(s.width - 1) - sx;
      const int tx = static_cast<int>(std::floor(sx));
      if (tx < 0 || tx + 1 >= s.width) continue;
      const float u = sx - static_cast<float>(tx);
      const std::uint8_t* const a = &s.texels[static_cast<std::size_t>(ty * s.width + tx) * 4];
      const std::uint8_t* const b = a + static_cast<std::size_t>(s.width) * 4;
      if ((a[3] | a[7] | b[3] | b[7]) == 0) continue;
      const float w[4] = {(1 - u) * (1 - v) * a[3], u * (1 - v) * a[7], (1 - u) * v * b[3], u * v * b[7]};
      const float alpha = w[0] + w[1] + w[2] + w[3];
      if (alpha < 2) continue;
      const float share = 1 / alpha;
      const auto mixed = [&](int c) {
        return (w[0] * a[c] + w[1] * a[4 + c] + w[2] * b[c] + w[3] * b[4 + c]) * share;
      };
      blend(px, py, alpha * (1.0F / 255) * opacity,
            Ink{std::min(255.0F, mixed(0) * gain), mixed(1), mixed(2)});
    }
  }
}

}  // namespace rookery::sim
