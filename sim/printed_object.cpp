#include "sim/printed_object.h"

#include <cmath>

namespace rookery::sim {
namespace {

constexpr float kLayer = 0.14F;  // what a layer line looks like at this distance, cm

float vase_radius(float z, float angle) {
  const float u = z / 17;
  const float profile = 3.6F + 3.1F * std::sin(u * 4.3F + 0.35F) * (1 - 0.35F * u) + 1.5F * u * u;
  return profile + 0.16F * std::sin(12 * angle + z * 0.32F);
}

float tooth(float angle, int count) {
  const float s = std::sin(angle * static_cast<float>(count));
  return clamp01(s * 2.2F + 0.5F);
}

float gear_radius(float z, float angle) {
  if (z > 5) return 4.6F + 0.9F * tooth(angle, 12);
  return 7.6F + 1.3F * tooth(angle, 18);
}

float tower_radius(float z) {
  if (z > 17.5F) return 5.0F;
  return 4.6F - 0.06F * z + 0.8F * smooth(16, 17.5F, z) + 0.7F * smooth(1.6F, 0.2F, z);
}

Region region_of_box(const Projection& view, Vec3 middle, Vec3 half) {
  float x0 = 1e9F;
  float y0 = 1e9F;
  float x1 = -1e9F;
  float y1 = -1e9F;
  for (int k = 0; k < 8; ++k) {
    const Vec3 p = view.project(middle + half * Vec3{(k & 1) != 0 ? 1.0F : -1.0F, (k & 2) != 0 ? 1.0F : -1.0F,
                                                     (k & 4) != 0 ? 1.0F : -1.0F});
    x0 = std::min(x0, p.x);
    y0 = std::min(y0, p.y);
    x1 = std::max(x1, p.x);
    y1 = std::max(y1, p.y);
  }
  const int left = static_cast<int>(x0) - 1;
  const int top = static_cast<int>(y0) - 1;
  return {left, top, static_cast<int>(x1) + 2 - left, static_cast<int>(y1) + 2 - top};
}

}  // namespace

float PrintedObject::height() const {
  return kind_ == PrintedKind::vase ? 17.0F : kind_ == PrintedKind::gear ? 8.5F : 20.0F;
}

float PrintedObject::reach() const { return kind_ == PrintedKind::gear ? 9.0F : 7.5F; }

float PrintedObject::outline(float z, float angle) const {
  switch (kind_) {
    case PrintedKind::vase:
      return vase_radius(z, angle);
    case PrintedKind::gear:
      return gear_radius(z, angle);
    case PrintedKind::tower:
      return tower_radius(z);
  }
  return 1;
}

// Negative inside. `p` is measured from the body's place.
float PrintedObject::distance(Vec3 p) const {
  const float r = std::sqrt(p.x * p.x + p.y * p.y);
  const float angle = std::atan2(p.y, p.x);
  switch (kind_) {
    case PrintedKind::vase: {
      const float outer = r - vase_radius(p.z, angle);
      return p.z > 0.8F ? std::max(outer, vase_radius(p.z, angle) - 0.55F - r) : outer;
    }
    case PrintedKind::gear: {
      float d = std::max(r - gear_radius(p.z, angle), 1.9F - r);
      if (p.z < 5) {
        // Six round openings in the web.
        const float sector = 6.2831853F / 6;
        const float a = angle - sector * std::round(angle / sector);
        const float hx = r * std::cos(a) - 5.2F;
        const float hy = r * std::sin(a);
        d = std::max(d, 1.15F - std::sqrt(hx * hx + hy * hy));
      }
      return d;
    }
    case PrintedKind::tower: {
      float d = r - tower_radius(p.z);
      if (p.z > 1) d = std::max(d, tower_radius(p.z) - 1.0F - r);
      const float sector = 6.2831853F / 8;
      const float turn = angle + (p.z > 9 ? sector * 0.5F : 0.0F);
      const float a = turn - sector * std::round(turn / sector);
      const float across = std::fabs(r * std::sin(a));
      const float wz = p.z > 9 ? p.z - 12 : p.z - 5.2F;
      const float arch =
          std::max(across - 0.62F,
                   wz > 0.8F ? std::sqrt(across * across + (wz - 0.8F) * (wz - 0.8F)) - 0.62F : -1.6F - wz);
      d = std::max(d, -arch);
      if (p.z > 18.4F) d = std::max(d, 0.75F - std::fabs(r * std::sin(a)));  // battlements
      return d;
    }
  }
  return 1;
}

Vec3 PrintedObject::normal(Vec3 p) const {
  constexpr float kStep = 0.04F;
  return unit({distance(p + Vec3{kStep, 0, 0}) - distance(p - Vec3{kStep, 0, 0}),
               distance(p + Vec3{0, kStep, 0}) - distance(p - Vec3{0, kStep, 0}),
               distance(p + Vec3{0, 0, kStep}) - distance(p - Vec3{0, 0, kStep})});
}

bool PrintedObject::march(Vec3 eye, Vec3 direction, float printed, Vec3& point) const {
  // From where the ray enters the box round the printed part to where it leaves it.
  const float r = reach() + 0.5F;
  float enter = 0;
  float leave = 1e9F;
  const auto slab = [&](float o, float d, float low, float high) {
    const float inverse = 1 / (std::fabs(d) < 1e-7F ? 1e-7F : d);
    const float a = (low - o) * inverse;
    const float b = (high - o) * inverse;
    enter = std::max(enter, std::min(a, b));
    leave = std::min(leave, std::max(a, b));
  };
  slab(eye.x, direction.x, -r, r);
  slab(eye.y, direction.y, -r, r);
  slab(eye.z, direction.z, 0, printed);
  float t = enter;
  for (int i = 0; i < 160 && t < leave; ++i) {
    point = eye + direction * t;
    const float d = distance(point);
    if (d < 0.015F) return true;
    t += std::max(0.03F, d * 0.45F);
  }
  return false;
}

Vec3 PrintedObject::top_colour(Vec3 p, const Material& material) const {
  // Perimeters run along the outline, lines fill the rest.
  const float edge = -distance(p);
  const float line = edge < 0.5F ? std::sin(edge * 26) : std::sin((p.x + p.y) * 9);
  return material.colour * (1.05F + 0.13F * line);
}

Region PrintedObject::region_at(const Projection& view, float printed, Vec3 shift) const {
  const float r = reach();
  return region_of_box(view, place_ + shift + Vec3{0, 0, printed / 2}, {r, r, printed / 2});
}

PrintedObject::Cut PrintedObject::compute_cut(const World& world, const Projection& view, const Look& look,
                                              const Material& material, float printed) const {
  const Region region = region_at(view, printed, {});
  Film film{region.width, region.height, {}, {}, {}};
  const auto count = static_cast<std::size_t>(region.width * region.height);
  film.colour.resize(count);
  film.alpha.resize(count);
  for (int y = 0; y < region.height; ++y) {
    for (int x = 0; x < region.width; ++x) {
      Vec3 sum{};
      int hits = 0;
      // Two samples a pixel, on a diagonal: enough for an outline that moves.
      for (int s = 0; s < 2; ++s) {
        const float off = s == 0 ? 0.25F : 0.75F;
        const Vec3 ray =
            view.ray(static_cast<float>(region.x + x) + off, static_cast<float>(region.y + y) + off);
        Vec3 p;
        if (!march(view.eye() - place_, ray, printed, p)) continue;
        ++hits;
        const bool top = p.z > printed - 0.03F;
        Material here = material;
        Vec3 n{0, 0, 1};
        float open = 1;
        if (top) {
          here.colour = top_colour(p, material);
          here.gloss *= 0.4F;
        } else {
          n = normal(p);
          const float wave = std::cos(p.z / kLayer * 6.2831853F);
          n = unit(n + Vec3{0, 0, 0.22F * wave});
          const float out = p.x * n.x + p.y * n.y;
          open = out < 0 ? 0.25F + 0.3F * smooth(4, 0, printed - p.z) : 0.5F + 0.5F * smooth(-1, 5, p.z);
        }
        sum += shade_simply(world, here, p + place_, n, ray * -1.0F, open);
      }
      const auto i = static_cast<std::size_t>(y * region.width + x);
      film.colour[i] = sum * 0.5F;
      film.alpha[i] = static_cast<float>(hits) * 0.5F;
    }
  }
  return {develop_sprite(film, look), {static_cast<float>(region.x), static_cast<float>(region.y)}};
}

}  // namespace rookery::sim
