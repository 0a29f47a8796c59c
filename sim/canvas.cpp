#include "sim/canvas.h"

#include <cmath>
#include <cstring>

namespace rookery::sim {
namespace {

std::uint8_t to_byte(float v) { return static_cast<std::uint8_t>(std::clamp(v + 0.5F, 0.0F, 255.0F)); }

void mix_plane(std::vector<std::uint8_t>& out, const std::vector<std::uint8_t>& a,
               const std::vector<std::uint8_t>& b, int weight) {
  for (std::size_t i = 0; i < out.size(); ++i)
    out[i] = static_cast<std::uint8_t>((a[i] * (256 - weight) + b[i] * weight + 128) >> 8);
}

}  // namespace

Picture::Picture(Size size_)
    : size(size_),
      y(static_cast<std::size_t>(size_.width * size_.height), 0),
      u(static_cast<std::size_t>(size_.width / 2 * size_.height), 128),
      v(u) {}

Ink ink(int red, int green, int blue) {
  const auto r = static_cast<float>(red);
  const auto g = static_cast<float>(green);
  const auto b = static_cast<float>(blue);
  return {0.299F * r + 0.587F * g + 0.114F * b, 128 - 0.168736F * r - 0.331264F * g + 0.5F * b,
          128 + 0.5F * r - 0.418688F * g - 0.081312F * b};
}

Ink scaled(Ink c, float factor) {
  return {std::min(255.0F, c.y * factor), 128 + (c.u - 128) * std::min(factor, 1.3F),
          128 + (c.v - 128) * std::min(factor, 1.3F)};
}

bool Canvas::noted(float x0, float y0, float x1, float y1) {
  if (draws()) return false;
  const int left = std::max(0, static_cast<int>(std::floor(x0)));
  const int top = std::max(0, static_cast<int>(std::floor(y0)));
  const int right = std::min(p_.size.width, static_cast<int>(std::ceil(x1)) + 1);
  const int bottom = std::min({p_.size.height, hidden_below_, static_cast<int>(std::ceil(y1)) + 1});
  if (what_.empty() || right <= left || bottom <= top) return true;
  for (MovingBox& box : *boxes_) {
    if (box.what != what_) continue;
    Region& r = box.region;
    const int x = std::min(r.x, left);
    const int y = std::min(r.y, top);
    r = {x, y, std::max(r.x + r.width, right) - x, std::max(r.y + r.height, bottom) - y};
    return true;
  }
  boxes_->push_back({what_, {left, top, right - left, bottom - top}});
  return true;
}

void Canvas::note(Region r) {
  (void)noted(static_cast<float>(r.x), static_cast<float>(r.y), static_cast<float>(r.x + r.width - 1),
              static_cast<float>(r.y + r.height - 1));
}

void Canvas::restore(const Picture& from) {
  if (!draws()) return;
  std::memcpy(p_.y.data(), from.y.data(), p_.y.size());
  std::memcpy(p_.u.data(), from.u.data(), p_.u.size());
  std::memcpy(p_.v.data(), from.v.data(), p_.v.size());
}

void Canvas::restore_mixed(const Picture& a, const Picture& b, float t) {
  const int weight = static_cast<int>(std::lround(clamp01(t) * 256));
  if (weight == 0) return restore(a);
  if (weight == 256) return restore(b);
  if (!draws()) return;
  mix_plane(p_.y, a.y, b.y, weight);
  mix_plane(p_.u, a.u, b.u, weight);
  mix_plane(p_.v, a.v, b.v, weight);
}

void Canvas::blend(int x, int y, float alpha, Ink c) {
  const auto i = static_cast<std::size_t>(y * p_.size.width + x);
  p_.y[i] = to_byte(static_cast<float>(p_.y[i]) + (c.y - static_cast<float>(p_.y[i])) * alpha);
  const auto k = static_cast<std::size_t>(y * p_.half() + x / 2);
  // Two pixels share a colour sample: a solid second one brings it all the way.
  const float half = (x & 1) != 0 ? alpha : alpha * 0.5F;
  p_.u[k] = to_byte(static_cast<float>(p_.u[k]) + (c.u - static_cast<float>(p_.u[k])) * half);
  p_.v[k] = to_byte(static_cast<float>(p_.v[k]) + (c.v - static_cast<float>(p_.v[k])) * half);
}

void Canvas::sprite(const Sprite& s, float x, float y, float opacity, float gain, bool mirrored) {
  if (noted(x, y, x + static_cast<float>(s.width), y + static_cast<float>(s.height))) return;
  const float fx = std::floor(x);
  const float fy = std::floor(y);
  const int ix = static_cast<int>(fx);
  const int iy = static_cast<int>(fy);
  const int wx = static_cast<int>((x - fx) * 16);
  const int wy = static_cast<int>((y - fy) * 16);
  const int weights[4] = {wx * wy, (16 - wx) * wy, wx * (16 - wy), (16 - wx) * (16 - wy)};
  const int strength = static_cast<int>(opacity * 256);
  const auto texel = [&](int tx, int ty) -> const std::uint8_t* {
    static constexpr std::uint8_t kEmpty[4] = {0, 128, 128, 0};
    if (tx < 0 || ty < 0 || tx >= s.width || ty >= s.height) return kEmpty;
    return &s.texels[static_cast<std::size_t>(ty * s.width + (mirrored ? s.width - 1 - tx : tx)) * 4];
  };
  for (int row = std::max(0, -iy); row <= s.height && iy + row < p_.size.height; ++row) {
    std::uint8_t* const out = &p_.y[static_cast<std::size_t>((iy + row) * p_.size.width)];
    std::uint8_t* const out_u = &p_.u[static_cast<std::size_t>((iy + row) * p_.half())];
    std::uint8_t* const out_v = &p_.v[static_cast<std::size_t>((iy + row) * p_.half())];
    for (int column = std::max(0, -ix); column <= s.width && ix + column < p_.size.width; ++column) {
      const std::uint8_t* const t[4] = {texel(column - 1, row - 1), texel(column, row - 1),
                                        texel(column - 1, row), texel(column, row)};
      int a = 0;
      int sum[3] = {0, 0, 0};
      for (int k = 0; k < 4; ++k) {
        const int w = weights[k] * t[k][3];
        a += w;
        for (int c = 0; c < 3; ++c) sum[c] += w * t[k][c];
      }
      if (a < 256) continue;
      const int px = ix + column;
      const int alpha = ((a >> 8) * strength) >> 8;  // 0–255
      const int luma = std::min(255, static_cast<int>(static_cast<float>(sum[0] / a) * gain));
      out[px] = static_cast<std::uint8_t>(out[px] + (luma - out[px]) * alpha / 255);
      // Two pixels share a colour sample: a solid second one brings it all the way.
      const int share = (px & 1) != 0 ? 255 : 510;
      out_u[px / 2] = static_cast<std::uint8_t>(out_u[px / 2] + (sum[1] / a - out_u[px / 2]) * alpha / share);
      out_v[px / 2] = static_cast<std::uint8_t>(out_v[px / 2] + (sum[2] / a - out_v[px / 2]) * alpha / share);
    }
  }
}

// Exact coverage by signed areas: each edge leaves its area in the cells it crosses, a running sum fills in.
void Canvas::fill(std::span<const Point> outline, Ink colour, float opacity, float slope) {
  float x0 = 1e9F;
  float y0 = 1e9F;
  float x1 = -1e9F;
  float y1 = -1e9F;
  for (const Point& p : outline) {
    x0 = std::min(x0, p.x);
    y0 = std::min(y0, p.y);
    x1 = std::max(x1, p.x);
    y1 = std::max(y1, p.y);
  }
  if (noted(x0, y0, x1, y1)) return;
  const int left = static_cast<int>(std::floor(x0));
  const int top = static_cast<int>(std::floor(y0));
  const int width = static_cast<int>(std::ceil(x1)) - left + 2;
  const int height = static_cast<int>(std::ceil(y1)) - top + 1;
  if (width <= 2 || height <= 1 || width > 2 * p_.size.width || height > 2 * p_.size.height) return;
  work_.assign(static_cast<std::size_t>(width * height), 0.0F);
  for (std::size_t i = 0; i < outline.size(); ++i) {
    Point a = outline[i];
    Point b = outline[(i + 1) % outline.size()];
    if (a.y == b.y) continue;
    const float sign = a.y < b.y ? 1.0F : -1.0F;
    if (a.y > b.y) std::swap(a, b);
    const float step = (b.x - a.x) / (b.y - a.y);
    for (int row = static_cast<int>(std::floor(a.y)); static_cast<float>(row) < b.y; ++row) {
      const float from = std::max(a.y, static_cast<float>(row));
      const float to = std::min(b.y, static_cast<float>(row + 1));
      const float middle = a.x + step * ((from + to) * 0.5F - a.y) - static_cast<float>(left);
      const int cell = std::clamp(static_cast<int>(middle), 0, width - 2);
      const float area = sign * (to - from);
      const float part = middle - static_cast<float>(cell);
      float* const line = &work_[static_cast<std::size_t>((row - top) * width)];
      line[cell] += area * (1 - part);
      line[cell + 1] += area * part;
    }
  }
  const float middle = (y0 + y1) * 0.5F;
  for (int row = std::max(0, -top); row < height && top + row < p_.size.height; ++row) {
    float sum = 0;
    for (int column = 0; column < width; ++column) {
      sum += work_[static_cast<std::size_t>(row * width + column)];
      const int x = left + column;
      const float alpha = std::min(1.0F, std::fabs(sum)) * opacity;
      if (alpha < 0.01F || x < 0 || x >= p_.size.width) continue;
      Ink shade = colour;
      shade.y += slope * (static_cast<float>(top + row) - middle);
      blend(x, top + row, alpha, shade);
    }
  }
}

template <class Coverage>
void Canvas::cover(float x0, float y0, float x1, float y1, Coverage coverage, Ink colour, float slope,
                   float middle) {
  if (noted(x0, y0, x1, y1)) return;
  const int left = std::max(0, static_cast<int>(std::floor(x0)));
  const int right = std::min(p_.size.width - 1, static_cast<int>(std::ceil(x1)));
  const int bottom = std::min(p_.size.height - 1, static_cast<int>(std::ceil(y1)));
  for (int y = std::max(0, static_cast<int>(std::floor(y0))); y <= bottom; ++y) {
    Ink shade = colour;
    shade.y += slope * (static_cast<float>(y) - middle);
    for (int x = left; x <= right; ++x) {
      const float alpha = coverage(static_cast<float>(x) + 0.5F, static_cast<float>(y) + 0.5F);
      if (alpha > 0.01F) blend(x, y, std::min(1.0F, alpha), shade);
    }
  }
}

void Canvas::line(Point a, Point b, float width, Ink colour, float opacity) {
  const float r = width * 0.5F;
  const float dx = b.x - a.x;
  const float dy = b.y - a.y;
  const float inverse = 1 / std::max(1e-6F, dx * dx + dy * dy);
  const float strength = opacity * std::min(1.0F, width);
  const float reach = std::max(r, 0.5F);
  const auto coverage = [&](float x, float y) {
    const float t = clamp01(((x - a.x) * dx + (y - a.y) * dy) * inverse);
    const float ex = x - a.x - t * dx;
    const float ey = y - a.y - t * dy;
    return clamp01(reach + 0.5F - std::sqrt(ex * ex + ey * ey)) * strength;
  };
  cover(std::min(a.x, b.x) - reach - 1, std::min(a.y, b.y) - reach - 1, std::max(a.x, b.x) + reach + 1,
        std::max(a.y, b.y) + reach + 1, coverage, colour, 0, 0);
}

void Canvas::disc(Point c, float rx, float ry, Ink colour, float opacity) {
  const float small = std::min(rx, ry);
  const auto coverage = [&](float x, float y) {
    const float ex = (x - c.x) / rx;
    const float ey = (y - c.y) / ry;
    return clamp01((1 - std::sqrt(ex * ex + ey * ey)) * small + 0.5F) * opacity;
  };
  cover(c.x - rx - 1, c.y - ry - 1, c.x + rx + 1, c.y + ry + 1, coverage, colour, 0, 0);
}

void Canvas::glow(Point c, float rx, float ry, Ink colour, float strength) {
  const auto coverage = [&](float x, float y) {
    const float ex = (x - c.x) / rx;
    const float ey = (y - c.y) / ry;
    const float d = 1 - ex * ex - ey * ey;
    return d <= 0 ? 0.0F : d * d * strength;
  };
  cover(c.x - rx, c.y - ry, c.x + rx, c.y + ry, coverage, colour, 0, 0);
}

void Canvas::shadow(Point c, float rx, float ry, float strength) {
  if (noted(c.x - rx, c.y - ry, c.x + rx, c.y + ry)) return;
  const int x1 = std::min(p_.size.width - 1, static_cast<int>(c.x + rx));
  const int y1 = std::min(p_.size.height - 1, static_cast<int>(c.y + ry));
  for (int y = std::max(0, static_cast<int>(c.y - ry)); y <= y1; ++y) {
    const float ey = (static_cast<float>(y) + 0.5F - c.y) / ry;
    for (int x = std::max(0, static_cast<int>(c.x - rx)); x <= x1; ++x) {
      const float ex = (static_cast<float>(x) + 0.5F - c.x) / rx;
      const float d = 1 - ex * ex - ey * ey;
      if (d <= 0) continue;
      std::uint8_t& luma = p_.y[static_cast<std::size_t>(y * p_.size.width + x)];
      luma = static_cast<std::uint8_t>(static_cast<float>(luma) * (1 - strength * d * d));
    }
  }
}

void Canvas::sway(Region region, float amplitude, float phase, float rows_a_wave, bool fade_downward) {
  if (noted(static_cast<float>(region.x), static_cast<float>(region.y),
            static_cast<float>(region.x + region.width), static_cast<float>(region.y + region.height)))
    return;
  const int x0 = std::max(1, region.x);
  const int x1 = std::min(p_.size.width - 2, region.x + region.width);
  const int y1 = std::min(p_.size.height, region.y + region.height);
  if (x1 <= x0) return;
  row_.resize(static_cast<std::size_t>(p_.size.width));
  for (int y = std::max(0, region.y); y < y1; ++y) {
    const float down = static_cast<float>(y - region.y) / static_cast<float>(region.height);
    const float strength = fade_downward ? 1 - down : std::min(1.0F, 4 * down * (1 - down));
    const float shift = amplitude * strength *
                        (std::sin(phase + static_cast<float>(y) * 6.2831853F / rows_a_wave) +
                         0.5F * std::sin(phase * 1.7F - static_cast<float>(y) * 11.1F / rows_a_wave));
    std::uint8_t* const line = &p_.y[static_cast<std::size_t>(y * p_.size.width)];
    std::memcpy(row_.data(), line, row_.size());
    const auto whole = static_cast<int>(std::floor(shift));
    const auto part = static_cast<int>((shift - static_cast<float>(whole)) * 256);
    for (int x = x0; x < x1; ++x) {
      // Fades out at both sides so that no edge shows.
      const int side = std::min({x - x0, x1 - x, 16});
      const int from = std::clamp(x + whole, 0, p_.size.width - 2);
      const int moved = (row_[static_cast<std::size_t>(from)] * (256 - part) +
                         row_[static_cast<std::size_t>(from) + 1] * part) >>
                        8;
      line[x] =
          static_cast<std::uint8_t>((moved * side + row_[static_cast<std::size_t>(x)] * (16 - side)) / 16);
    }
  }
}

}  // namespace rookery::sim
