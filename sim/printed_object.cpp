#include "sim/printed_object.h"

#include <cmath>

namespace rookery::sim {
namespace {

constexpr float kLayer = 0.14F;  // what a layer line looks like at this distance, cm

// How a leaning part's directions lie in the world, and back.
Vec3 turned(Vec3 q, const PartPose& pose) {
  const Vec3 yawed{q.x * std::cos(pose.yaw) - q.y * std::sin(pose.yaw),
                   q.x * std::sin(pose.yaw) + q.y * std::cos(pose.yaw), q.z};
  const Vec3 along{std::cos(pose.toward), std::sin(pose.toward), 0};
  const Vec3 across{-along.y, along.x, 0};
  const float d = dot(yawed, along);
  const float sine = std::sin(pose.tilt);
  const float cosine = std::cos(pose.tilt);
  return along * (d * cosine + q.z * sine) + across * dot(yawed, across) +
         Vec3{0, 0, q.z * cosine - d * sine};
}

Vec3 turned_back(Vec3 p, const PartPose& pose) {
  const Vec3 along{std::cos(pose.toward), std::sin(pose.toward), 0};
  const Vec3 across{-along.y, along.x, 0};
  const float d = dot(p, along);
  const float sine = std::sin(pose.tilt);
  const float cosine = std::cos(pose.tilt);
  const Vec3 q =
      along * (d * cosine - p.z * sine) + across * dot(p, across) + Vec3{0, 0, p.z * cosine + d * sine};
  return {q.x * std::cos(pose.yaw) + q.y * std::sin(pose.yaw),
          q.y * std::cos(pose.yaw) - q.x * std::sin(pose.yaw), q.z};
}

template <class Place>
Region region_of_box(const Projection& view, Vec3 middle, Vec3 half, Place place) {
  float x0 = 1e9F;
  float y0 = 1e9F;
  float x1 = -1e9F;
  float y1 = -1e9F;
  for (int k = 0; k < 8; ++k) {
    const Vec3 p =
        view.project(place(middle + half * Vec3{(k & 1) != 0 ? 1.0F : -1.0F, (k & 2) != 0 ? 1.0F : -1.0F,
                                                (k & 4) != 0 ? 1.0F : -1.0F}));
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

float PrintedObject::distance(Vec3 p, const PartPose& pose) const {
  if ((pose.step.x != 0 || pose.step.y != 0) && p.z > pose.step_from) return distance(p - pose.step);
  return distance(p);
}

// So that it lies on the bed and not in it.
float PrintedObject::lift(const PartPose& pose) const {
  return std::sin(pose.tilt) * outline(height() * 0.5F, pose.toward - pose.yaw) * 0.9F;
}

Vec3 PrintedObject::normal(Vec3 p, const PartPose& pose) const {
  constexpr float kStep = 0.04F;
  const auto at = [&](Vec3 q) { return distance(q, pose); };
  return unit({at(p + Vec3{kStep, 0, 0}) - at(p - Vec3{kStep, 0, 0}),
               at(p + Vec3{0, kStep, 0}) - at(p - Vec3{0, kStep, 0}),
               at(p + Vec3{0, 0, kStep}) - at(p - Vec3{0, 0, kStep})});
}

bool PrintedObject::march(Vec3 eye, Vec3 direction, float printed, const PartPose& pose, Vec3& point) const {
  // From where the ray enters the box round the printed part to where it leaves it.
  const float r = reach() + 0.5F + std::max(std::fabs(pose.step.x), std::fabs(pose.step.y));
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
    const float d = distance(point, pose);
    if (d < 0.015F) return true;
    t += std::max(0.03F, d * 0.45F);
  }
  return false;
}

Vec3 PrintedObject::top_colour(Vec3 p, const Material& material, const PartPose& pose) const {
  // Perimeters run along the outline, lines fill the rest.
  const float edge = -distance(p, pose);
  const float line = edge < 0.5F ? std::sin(edge * 26) : std::sin((p.x + p.y) * 9);
  return material.colour * (1.05F + 0.13F * line);
}

Region PrintedObject::region_at(const Projection& view, float printed, Vec3 shift) const {
  const float r = reach();
  return region_of_box(view, place_ + shift + Vec3{0, 0, printed / 2}, {r, r, printed / 2},
                       [](Vec3 p) { return p; });
}

Region PrintedObject::region_at(const Projection& view, float printed, Vec3 shift,
                                const PartPose& pose) const {
  if (pose.straight()) return region_at(view, printed, shift);
  const float r = reach() + std::max(std::fabs(pose.step.x), std::fabs(pose.step.y));
  const Vec3 to = place_ + shift + Vec3{0, 0, lift(pose)};
  return region_of_box(view, {0, 0, printed / 2}, {r, r, printed / 2},
                       [&](Vec3 p) { return to + turned(p, pose); });
}

PrintedObject::Cut PrintedObject::compute_cut(const World& world, const Projection& view, const Look& look,
                                              const Material& material, float printed,
                                              const PartPose& pose) const {
  const Region region = region_at(view, printed, {}, pose);
  const bool leaning = pose.tilt != 0 || pose.yaw != 0;
  const Vec3 foot = leaning ? place_ + Vec3{0, 0, lift(pose)} : place_;
  const Vec3 eye = leaning ? turned_back(view.eye() - foot, pose) : view.eye() - foot;
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
        if (!march(eye, leaning ? turned_back(ray, pose) : ray, printed, pose, p)) continue;
        ++hits;
        const bool top = p.z > printed - 0.03F;
        Material here = material;
        Vec3 n{0, 0, 1};
        float open = 1;
        if (top) {
          here.colour = top_colour(p, material, pose);
          here.gloss *= 0.4F;
        } else {
          n = normal(p, pose);
          const float wave = std::cos(p.z / kLayer * 6.2831853F);
          n = unit(n + Vec3{0, 0, 0.22F * wave});
          const float out = p.x * n.x + p.y * n.y;
          open = out < 0 ? 0.25F + 0.3F * smooth(4, 0, printed - p.z) : 0.5F + 0.5F * smooth(-1, 5, p.z);
        }
        if (leaning) {
          n = turned(n, pose);
          p = turned(p, pose);
          open = 0.75F + 0.25F * n.z;
        }
        sum += shade_simply(world, here, p + foot, n, ray * -1.0F, open);
      }
      const auto i = static_cast<std::size_t>(y * region.width + x);
      film.colour[i] = sum * 0.5F;
      film.alpha[i] = static_cast<float>(hits) * 0.5F;
    }
  }
  return {develop_sprite(film, look), {static_cast<float>(region.x), static_cast<float>(region.y)}};
}

}  // namespace rookery::sim
