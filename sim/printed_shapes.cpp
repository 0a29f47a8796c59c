// The shapes that are printed: how far a point is from each.
#include <cmath>

#include "sim/printed_object.h"

namespace rookery::sim {
namespace {

constexpr float kTwist = 3.9F;   // half a side of the twisted column, cm
constexpr float kTurn = 0.075F;  // its turn, radians a cm
constexpr Point kBracketLow{-6.2F, -4.8F};
constexpr Point kBracketHigh{6.2F, 5};

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

float rod_radius(float z) { return 1.25F + 1.3F * smooth(1.2F, 0.5F, z) + 0.5F * smooth(18.6F, 19, z); }

float ring_radius(float angle) { return 7.2F + 0.35F * std::sin(9 * angle); }

// From the axis to the edge of a rectangle that has the axis in it.
float box_reach(Point low, Point high, float angle) {
  const float c = std::cos(angle);
  const float s = std::sin(angle);
  const float x = (c > 0 ? high.x : -low.x) / std::max(1e-4F, std::fabs(c));
  const float y = (s > 0 ? high.y : -low.y) / std::max(1e-4F, std::fabs(s));
  return std::fabs(std::min(x, y));
}

float rectangle(float x, float y, float half_x, float half_y) {
  const float dx = std::fabs(x) - half_x;
  const float dy = std::fabs(y) - half_y;
  const float outside = std::hypot(std::max(dx, 0.0F), std::max(dy, 0.0F));
  return outside + std::min(std::max(dx, dy), 0.0F);
}

// A foot, a wall at its front edge with two holes, a gusset between them.
float bracket(Vec3 p) {
  const float foot = std::max(rectangle(p.x, p.y - 0.1F, 6.2F, 4.9F), p.z - 1.4F);
  const float hole = std::min(std::hypot(p.x - 3.6F, p.z - 8), std::hypot(p.x + 3.6F, p.z - 8)) - 1.1F;
  const float wall = std::max(rectangle(p.x, p.y + 4.1F, 6.2F, 0.7F), -hole);
  const float gusset = std::max(rectangle(p.x, p.y, 0.6F, 4.8F), (p.y + p.z * 0.9F - 5) * 0.7F);
  return std::min({foot, wall, gusset});
}

// Two discs, two blocks and a hexagon.
float small_parts(Vec3 p) {
  const float discs = std::min(std::hypot(p.x + 5.2F, p.y + 4.2F), std::hypot(p.x - 5.4F, p.y - 4)) - 2.4F;
  const float blocks =
      std::min(rectangle(p.x - 5, p.y + 4.4F, 2.6F, 1.9F), rectangle(p.x + 5, p.y - 4.2F, 2, 2.4F));
  const float hexagon =
      std::max({std::fabs(p.y), std::fabs(0.866F * p.x + 0.5F * p.y), std::fabs(0.866F * p.x - 0.5F * p.y)}) -
      2.1F;
  const float bore = 1.1F - std::hypot(p.x, p.y);
  return std::min({discs, blocks, std::max(hexagon, p.z > 1.6F ? bore : -1.0F)});
}

float hollow(Vec3 p) {
  const float outer = rectangle(p.x, p.y, 6, 4.2F) - 0.4F;
  return p.z < 0.9F ? outer : std::max(outer, -0.9F - outer);
}

}  // namespace

float PrintedObject::height() const {
  constexpr float kHeights[] = {17, 8.5F, 20, 12, 4, 21, 8, 6, 18};
  return kHeights[static_cast<std::size_t>(kind_)];
}

float PrintedObject::reach() const {
  constexpr float kReaches[] = {7.5F, 9, 7.5F, 9, 9.2F, 2.8F, 8.6F, 8, 5.8F};
  return kReaches[static_cast<std::size_t>(kind_)];
}

float PrintedObject::outline(float z, float angle) const {
  switch (kind_) {
    case PrintedKind::vase:
      return vase_radius(z, angle);
    case PrintedKind::gear:
      return gear_radius(z, angle);
    case PrintedKind::tower:
      return tower_radius(z);
    case PrintedKind::bracket:
      return box_reach(kBracketLow, {kBracketHigh.x, z < 1.4F ? kBracketHigh.y : -3.4F}, angle);
    case PrintedKind::plate:
      return 8.4F;
    case PrintedKind::rod:
      return rod_radius(z);
    case PrintedKind::hollow:
      return box_reach({-6.4F, -4.6F}, {6.4F, 4.6F}, angle);
    case PrintedKind::ring:
      return ring_radius(angle);
    case PrintedKind::twist:
      return box_reach({-kTwist, -kTwist}, {kTwist, kTwist}, angle - z * kTurn);
  }
  return 1;
}

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
    case PrintedKind::bracket:
      return bracket(p);
    case PrintedKind::plate:
      return small_parts(p);
    case PrintedKind::rod:
      return r - rod_radius(p.z);
    case PrintedKind::hollow:
      return hollow(p);
    case PrintedKind::ring:
      return std::max(r - ring_radius(angle), 4.6F - r);
    case PrintedKind::twist: {
      const float a = -p.z * kTurn;
      const Vec3 q{p.x * std::cos(a) - p.y * std::sin(a), p.x * std::sin(a) + p.y * std::cos(a), 0};
      return rectangle(q.x, q.y, kTwist, kTwist) * 0.8F;
    }
  }
  return 1;
}

}  // namespace rookery::sim
