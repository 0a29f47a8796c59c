// Procedural materials: what wood, brick, plaster and the rest look like close to.
#include "sim/trace_solids.h"

namespace rookery::sim {
namespace {

std::uint32_t cell(float v) { return static_cast<std::uint32_t>(floor_int(v) + 100000); }

float lattice(int x, int y, int z) {
  return hash01(hash32(static_cast<std::uint32_t>(x), static_cast<std::uint32_t>(y)),
                static_cast<std::uint32_t>(z));
}

Vec3 wood(Vec3 c, float along, float across, float depth) {
  const std::uint32_t board = cell(across / 14);
  const float shift = hash01(board, 7) * 90;
  const float rings = fbm3({(along + shift) * 0.03F, across * 0.5F + shift, depth * 0.5F});
  const float grain = noise3({(along + shift) * 0.12F, across * 5, depth * 5});
  const float tone =
      0.72F + 0.35F * std::fabs(std::sin(rings * 22)) * 0.5F + 0.22F * grain + 0.18F * hash01(board, 3);
  const float in_board = fraction(across / 14);
  const float seam = smooth(0, 0.03F, in_board) * smooth(0, 0.03F, 1 - in_board);
  return c * (tone * (0.35F + 0.65F * seam));
}

Vec3 brick(Vec3 c, Vec3 p, Vec3& n) {
  const float course = p.z / 7.5F;
  const float run =
      (std::fabs(n.x) > std::fabs(n.y) ? p.y : p.x) / 23 + (cell(course) % 2 == 0 ? 0.5F : 0.0F);
  const float fz = fraction(course);
  const float fx = fraction(run);
  const float wobble = 0.02F * (noise3(p * 0.8F) - 0.5F);
  const float edge = std::min(std::min(fz, 1 - fz) * 7.5F, std::min(fx, 1 - fx) * 23.0F) + wobble * 10;
  const float face = smooth(0.35F, 0.8F, edge);
  const float tone = 0.7F + 0.5F * hash01(cell(course), cell(run)) + 0.3F * (fbm3(p * 0.9F) - 0.5F);
  const float red = hash01(cell(run), cell(course) + 9);
  const Vec3 stone = c * tone * Vec3{1, 0.92F + 0.16F * red, 0.9F + 0.2F * red};
  if (edge < 1.0F) n = unit(n + Vec3{0, 0, (fz < 0.5F ? -0.5F : 0.5F) * (1 - edge)});
  return mix(Vec3{0.42F, 0.4F, 0.37F} * (0.7F + 0.3F * noise3(p * 3)) * (0.4F + c.x), stone, face);
}

Vec3 pegboard(Vec3 c, Vec3 p) {
  const float fx = fraction(p.x / 2.5F) - 0.5F;
  const float fz = fraction(p.z / 2.5F) - 0.5F;
  const float r = std::sqrt(fx * fx + fz * fz);
  const float tone = 0.9F + 0.2F * (fbm3(p * 0.15F) - 0.5F) + 0.06F * noise3(p * 4);
  return c * (tone * (0.3F + 0.7F * smooth(0.1F, 0.17F, r)));
}

Vec3 tiles(Vec3 c, Vec3 p) {
  const float fx = fraction(p.x / 30);
  const float fy = fraction(p.y / 30);
  const float edge = std::min(std::min(fx, 1 - fx), std::min(fy, 1 - fy)) * 30;
  const float tone = 0.85F + 0.2F * hash01(cell(p.x / 30), cell(p.y / 30)) + 0.15F * (fbm3(p * 0.3F) - 0.5F);
  return c * (tone * (0.6F + 0.4F * smooth(0.2F, 0.6F, edge)));
}

}  // namespace

float noise3(Vec3 p) {
  const int x = floor_int(p.x);
  const int y = floor_int(p.y);
  const int z = floor_int(p.z);
  const auto ease = [](float t) { return t * t * (3 - 2 * t); };
  const float u = ease(p.x - static_cast<float>(x));
  const float v = ease(p.y - static_cast<float>(y));
  const float w = ease(p.z - static_cast<float>(z));
  const auto row = [&](int yy, int zz) { return mix(lattice(x, yy, zz), lattice(x + 1, yy, zz), u); };
  return mix(mix(row(y, z), row(y + 1, z), v), mix(row(y, z + 1), row(y + 1, z + 1), v), w);
}

float fbm3(Vec3 p) {
  float sum = 0;
  float part = 0.53F;
  for (int i = 0; i < 4; ++i) {
    sum += part * noise3(p);
    p = p * 2.03F + Vec3{17.1F, 3.7F, 9.2F};
    part *= 0.5F;
  }
  return sum;
}

float noise1(float x, std::uint32_t seed) {
  const auto i = static_cast<std::uint32_t>(floor_int(x));
  const float t = fraction(x);
  return mix(hash01(i, seed), hash01(i + 1, seed), t * t * (3 - 2 * t));
}

Vec3 surface_colour(const Material& material, Vec3 p, Vec3& n) {
  const Vec3 c = material.colour;
  const auto roughen = [&](float scale, float depth) {
    n = unit(n + Vec3{noise3(p * scale) - 0.5F, noise3(p * scale + Vec3{31, 0, 0}) - 0.5F,
                      noise3(p * scale + Vec3{0, 57, 0}) - 0.5F} *
                     depth);
  };
  switch (material.finish) {
    case Finish::plain:
      return c;
    case Finish::wood:
      return wood(c, p.x, p.y + p.z, p.z);
    case Finish::planks:
      return wood(c, p.z, p.x, p.y);
    case Finish::brick:
      return brick(c, p, n);
    case Finish::plaster:
      roughen(0.5F, 0.08F);
      return c * (0.9F + 0.22F * (fbm3(p * 0.05F) - 0.5F) + 0.08F * (fbm3(p * 1.1F) - 0.5F));
    case Finish::concrete:
      roughen(1.5F, 0.12F);
      return c * (0.85F + 0.5F * (fbm3(p * 0.04F) - 0.5F) + 0.3F * (fbm3(p * 0.6F) - 0.5F));
    case Finish::brushed:
      n = unit(n + Vec3{0, 0.10F, 0.10F} * (noise3({p.x * 0.2F, p.y * 14, p.z * 14}) - 0.5F));
      return c * (0.85F + 0.25F * noise3({p.x * 0.15F, p.y * 9, p.z * 9}));
    case Finish::pegboard:
      return pegboard(c, p);
    case Finish::tiles:
      return tiles(c, p);
    case Finish::soil:
      roughen(1.8F, 0.9F);
      return c * (0.5F + 1.0F * fbm3(p * 1.2F));
    case Finish::asphalt:
      roughen(2.5F, 0.35F);
      return c * (0.75F + 0.35F * (fbm3(p * 0.012F)) + 0.4F * (noise3(p * 1.5F) - 0.5F) * 0.5F);
  }
  return c;
}

}  // namespace rookery::sim
