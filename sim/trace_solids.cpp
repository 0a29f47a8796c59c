#include "sim/trace_solids.h"

#include <array>

namespace rookery::sim {
namespace {

constexpr float kNever = -1;

Vec3 turned(Vec3 v, float yaw) {
  if (yaw == 0) return v;
  const float c = std::cos(yaw);
  const float s = std::sin(yaw);
  return {c * v.x - s * v.y, s * v.x + c * v.y, v.z};
}

float hit_box(Vec3 from, Vec3 d, Vec3 half) {
  const float ix = 1 / (std::fabs(d.x) < 1e-7F ? 1e-7F : d.x);
  const float iy = 1 / (std::fabs(d.y) < 1e-7F ? 1e-7F : d.y);
  const float iz = 1 / (std::fabs(d.z) < 1e-7F ? 1e-7F : d.z);
  const float ax = -from.x * ix;
  const float ay = -from.y * iy;
  const float az = -from.z * iz;
  const float bx = half.x * std::fabs(ix);
  const float by = half.y * std::fabs(iy);
  const float bz = half.z * std::fabs(iz);
  const float enter = std::max({ax - bx, ay - by, az - bz});
  const float leave = std::min({ax + bx, ay + by, az + bz});
  if (enter > leave || leave < 0) return kNever;
  return enter > 0 ? enter : kNever;
}

float first_root(float a, float b, float c) {
  const float h = b * b - a * c;
  if (h < 0) return kNever;
  return (-b - std::sqrt(h)) / a;
}

// Puts the cylinder's axis on z.
Vec3 along_axis(Vec3 v, int axis) {
  if (axis == 0) return {v.y, v.z, v.x};
  if (axis == 1) return {v.x, v.z, v.y};
  return v;
}
Vec3 back_from_axis(Vec3 v, int axis) {
  if (axis == 0) return {v.z, v.x, v.y};
  if (axis == 1) return {v.x, v.z, v.y};
  return v;
}

float hit_cylinder(Vec3 from, Vec3 d, float radius, float half) {
  const float a = d.x * d.x + d.y * d.y;
  if (a > 1e-9F) {
    const float t =
        first_root(a, from.x * d.x + from.y * d.y, from.x * from.x + from.y * from.y - radius * radius);
    if (t > 0 && std::fabs(from.z + t * d.z) <= half) return t;
  }
  if (std::fabs(d.z) < 1e-7F) return kNever;
  const float t = ((d.z > 0 ? -half : half) - from.z) / d.z;
  const float x = from.x + t * d.x;
  const float y = from.y + t * d.y;
  return t > 0 && x * x + y * y <= radius * radius ? t : kNever;
}

float hit_capsule(Vec3 from, Vec3 d, Vec3 a, Vec3 b, float r) {
  const Vec3 ba = b - a;
  const Vec3 oa = from - a;
  const float baba = dot(ba, ba);
  const float bard = dot(ba, d);
  const float baoa = dot(ba, oa);
  const float ka = baba - bard * bard;
  const float kb = baba * dot(d, oa) - baoa * bard;
  const float kc = baba * dot(oa, oa) - baoa * baoa - r * r * baba;
  const float h = kb * kb - ka * kc;
  if (h < 0) return kNever;
  const float t = (-kb - std::sqrt(h)) / std::max(ka, 1e-9F);
  const float y = baoa + t * bard;
  if (y > 0 && y < baba) return t;
  const Vec3 oc = y <= 0 ? oa : from - b;
  return first_root(1, dot(d, oc), dot(oc, oc) - r * r);
}

Vec3 box_normal(Vec3 p, Vec3 half, float bevel) {
  const std::array<float, 3> v{p.x, p.y, p.z};
  const std::array<float, 3> h{half.x, half.y, half.z};
  std::array<float, 3> n{};
  std::size_t face = 0;
  float best = -1e9F;
  for (std::size_t i = 0; i < 3; ++i) {
    const float out = std::fabs(v[i]) - h[i];
    if (out > best) {
      best = out;
      face = i;
    }
  }
  n[face] = v[face] > 0 ? 1.0F : -1.0F;
  for (std::size_t i = 0; i < 3; ++i) {
    const float b = std::min(bevel, h[i] * 0.5F);
    const float inside = h[i] - std::fabs(v[i]);
    if (i == face || b <= 0 || inside >= b) continue;
    const float t = 1 - inside / b;
    n[i] = (v[i] > 0 ? 1.0F : -1.0F) * t * t;
  }
  return unit({n[0], n[1], n[2]});
}

Vec3 cylinder_normal(Vec3 p, float radius, float half, float bevel) {
  const float r = std::sqrt(p.x * p.x + p.y * p.y);
  const Vec3 out{p.x / std::max(r, 1e-6F), p.y / std::max(r, 1e-6F), 0};
  const Vec3 end{0, 0, p.z > 0 ? 1.0F : -1.0F};
  const float to_end = half - std::fabs(p.z);
  const float to_side = radius - r;
  const bool side = to_side < to_end;
  const float t = clamp01(1 - (side ? to_end : to_side) / std::max(bevel, 1e-4F));
  return unit(side ? out + end * (t * t) : end + out * (t * t));
}

}  // namespace

Bounds bounds_of(const Solid& solid) {
  const Vec3 c = solid.centre;
  Vec3 half = solid.half;
  switch (solid.shape) {
    case Shape::box: {
      const float cosine = std::fabs(std::cos(solid.yaw));
      const float sine = std::fabs(std::sin(solid.yaw));
      half = {cosine * solid.half.x + sine * solid.half.y, sine * solid.half.x + cosine * solid.half.y,
              solid.half.z};
      break;
    }
    case Shape::cylinder:
      half = back_from_axis({solid.half.x, solid.half.x, solid.half.y}, solid.axis);
      break;
    case Shape::ellipsoid:
      break;
    case Shape::capsule: {
      const Vec3 d = solid.half;
      const Vec3 r{solid.radius, solid.radius, solid.radius};
      return {Vec3{std::min(c.x, d.x), std::min(c.y, d.y), std::min(c.z, d.z)} - r,
              Vec3{std::max(c.x, d.x), std::max(c.y, d.y), std::max(c.z, d.z)} + r};
    }
  }
  return {c - half, c + half};
}

float hit_distance(const Solid& solid, Vec3 from, Vec3 direction) {
  switch (solid.shape) {
    case Shape::box:
      return hit_box(turned(from - solid.centre, -solid.yaw), turned(direction, -solid.yaw), solid.half);
    case Shape::cylinder:
      return hit_cylinder(along_axis(from - solid.centre, solid.axis), along_axis(direction, solid.axis),
                          solid.half.x, solid.half.y);
    case Shape::ellipsoid: {
      const Vec3 inverse{1 / solid.half.x, 1 / solid.half.y, 1 / solid.half.z};
      const Vec3 o = (from - solid.centre) * inverse;
      const Vec3 d = direction * inverse;
      return first_root(dot(d, d), dot(o, d), dot(o, o) - 1);
    }
    case Shape::capsule:
      return hit_capsule(from, direction, solid.centre, solid.half, solid.radius);
  }
  return kNever;
}

Vec3 normal_at(const Solid& solid, Vec3 point) {
  const Vec3 p = point - solid.centre;
  switch (solid.shape) {
    case Shape::box:
      return turned(box_normal(turned(p, -solid.yaw), solid.half, solid.bevel), solid.yaw);
    case Shape::cylinder:
      return back_from_axis(
          cylinder_normal(along_axis(p, solid.axis), solid.half.x, solid.half.y, solid.bevel), solid.axis);
    case Shape::ellipsoid:
      return unit(p * Vec3{1 / (solid.half.x * solid.half.x), 1 / (solid.half.y * solid.half.y),
                           1 / (solid.half.z * solid.half.z)});
    case Shape::capsule: {
      const Vec3 ba = solid.half - solid.centre;
      const float t = clamp01(dot(p, ba) / std::max(1e-9F, dot(ba, ba)));
      return unit(p - ba * t);
    }
  }
  return {0, 0, 1};
}

Solid box(Vec3 centre, Vec3 half, Material material, float bevel, float yaw) {
  Solid solid;
  solid.centre = centre;
  solid.half = half;
  solid.material = material;
  solid.bevel = bevel;
  solid.yaw = yaw;
  return solid;
}

Solid block(Vec3 low, Vec3 high, Material material, float bevel) {
  return box((low + high) * 0.5F, (high - low) * 0.5F, material, bevel);
}

Solid cylinder(Vec3 centre, float radius, float half_length, int axis, Material material, float bevel) {
  Solid solid = box(centre, {radius, half_length, 0}, material, bevel);
  solid.shape = Shape::cylinder;
  solid.axis = axis;
  return solid;
}

Solid ellipsoid(Vec3 centre, Vec3 half, Material material) {
  Solid solid = box(centre, half, material);
  solid.shape = Shape::ellipsoid;
  return solid;
}

Solid capsule(Vec3 from, Vec3 to, float radius, Material material) {
  Solid solid = box(from, to, material);
  solid.shape = Shape::capsule;
  solid.radius = radius;
  return solid;
}

}  // namespace rookery::sim
