// From light to picture: tone curve, bloom, vignette, white balance, YCbCr.
#include <cmath>

#include "sim/canvas.h"

namespace rookery::sim {
namespace {

// A filmic curve (a rational fit of the ACES reference curve, Narkowicz 2015), then the sRGB power.
float tone(float v) {
  const float m = clamp01(v * (2.51F * v + 0.03F) / (v * (2.43F * v + 0.59F) + 0.14F));
  return std::pow(m, 1 / 2.2F) * 255;
}

Ink tone(Vec3 light, const Look& look) {
  const Vec3 c = light * look.tint * look.exposure;
  const float r = tone(c.x);
  const float g = tone(c.y);
  const float b = tone(c.z);
  return {0.299F * r + 0.587F * g + 0.114F * b,
          128 + look.saturation * (-0.168736F * r - 0.331264F * g + 0.5F * b),
          128 + look.saturation * (0.5F * r - 0.418688F * g - 0.081312F * b)};
}

std::uint8_t to_byte(float v) { return static_cast<std::uint8_t>(std::clamp(v + 0.5F, 0.0F, 255.0F)); }

// What is brighter than white, spread softly: box-blurred twice at a quarter of the size.
std::vector<Vec3> bloom_of(const Film& film, float exposure) {
  const int w = (film.width + 3) / 4;
  const int h = (film.height + 3) / 4;
  std::vector<Vec3> small(static_cast<std::size_t>(w * h));
  for (int y = 0; y < film.height; ++y) {
    for (int x = 0; x < film.width; ++x) {
      const Vec3 c = film.colour[static_cast<std::size_t>(y * film.width + x)] * exposure;
      const float over = std::max({c.x, c.y, c.z}) - 0.9F;
      if (over > 0) small[static_cast<std::size_t>(y / 4 * w + x / 4)] += c * (std::min(over, 3.0F) / 16);
    }
  }
  const int radius = std::max(2, film.width / 60);
  std::vector<Vec3> other(small.size());
  for (int pass = 0; pass < 4; ++pass) {
    const int count = pass % 2 == 0 ? w : h;
    const int step = pass % 2 == 0 ? 1 : w;
    const int lines = pass % 2 == 0 ? h : w;
    const int stride = pass % 2 == 0 ? w : 1;
    for (int l = 0; l < lines; ++l) {
      Vec3 sum{};
      for (int i = -radius; i < count + radius; ++i) {
        if (i + radius < count) sum += small[static_cast<std::size_t>(l * stride + (i + radius) * step)];
        if (i - radius - 1 >= 0)
          sum = sum - small[static_cast<std::size_t>(l * stride + (i - radius - 1) * step)];
        if (i >= 0 && i < count)
          other[static_cast<std::size_t>(l * stride + i * step)] =
              sum * (1.0F / static_cast<float>(2 * radius + 1));
      }
    }
    small.swap(other);
  }
  return small;
}

Vec3 sampled(const std::vector<Vec3>& small, int w, int h, float x, float y) {
  const float fx = std::clamp(x / 4 - 0.5F, 0.0F, static_cast<float>(w) - 1.01F);
  const float fy = std::clamp(y / 4 - 0.5F, 0.0F, static_cast<float>(h) - 1.01F);
  const auto ix = static_cast<int>(fx);
  const auto iy = static_cast<int>(fy);
  const auto at = [&](int xx, int yy) {
    return small[static_cast<std::size_t>(std::min(yy, h - 1) * w + std::min(xx, w - 1))];
  };
  const float u = fx - static_cast<float>(ix);
  const float v = fy - static_cast<float>(iy);
  return mix(mix(at(ix, iy), at(ix + 1, iy), u), mix(at(ix, iy + 1), at(ix + 1, iy + 1), u), v);
}

Sprite cut_out(const Film& film, const Look& look, const std::vector<float>& alpha, bool premultiplied) {
  Sprite sprite{film.width, film.height, {}};
  sprite.texels.resize(alpha.size() * 4);
  for (std::size_t i = 0; i < alpha.size(); ++i) {
    const float a = alpha[i];
    const Vec3 light = premultiplied && a > 0 ? film.colour[i] * (1 / a) : film.colour[i];
    const Ink c = tone(light, look);
    sprite.texels[i * 4] = to_byte(c.y);
    sprite.texels[i * 4 + 1] = to_byte(c.u);
    sprite.texels[i * 4 + 2] = to_byte(c.v);
    sprite.texels[i * 4 + 3] = to_byte(a * 255);
  }
  return sprite;
}

}  // namespace

Picture develop(const Film& film, const Look& look) {
  Picture picture(Size{film.width, film.height});
  const std::vector<Vec3> bloom = bloom_of(film, look.exposure);
  const int bw = (film.width + 3) / 4;
  const int bh = (film.height + 3) / 4;
  for (int y = 0; y < film.height; ++y) {
    for (int x = 0; x < film.width; x += 2) {
      float u = 0;
      float v = 0;
      for (int k = 0; k < 2; ++k) {
        const auto px = static_cast<float>(x + k);
        const auto py = static_cast<float>(y);
        const float dx = (px / static_cast<float>(film.width) - 0.5F) * 2;
        const float dy = (py / static_cast<float>(film.height) - 0.5F) * 1.5F;
        const float dark = 1 - look.vignette * (dx * dx + dy * dy) * 0.6F;
        const auto i = static_cast<std::size_t>(y * film.width + x + k);
        const Vec3 light = film.colour[i] + sampled(bloom, bw, bh, px, py) * (look.bloom * 4 / look.exposure);
        const Ink c = tone(light * dark, look);
        picture.y[i] = to_byte(c.y);
        u += c.u * 0.5F;
        v += c.v * 0.5F;
      }
      const auto k = static_cast<std::size_t>(y * picture.half() + x / 2);
      picture.u[k] = to_byte(u);
      picture.v[k] = to_byte(v);
    }
  }
  return picture;
}

Sprite develop_sprite(const Film& film, const Look& look) { return cut_out(film, look, film.alpha, true); }

Sprite develop_front(const Film& film, const Look& look) { return cut_out(film, look, film.front, false); }

}  // namespace rookery::sim
