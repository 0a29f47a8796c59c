// The people of the workshop: round limbs in work clothes, no faces.
#include "sim/scene_parts.h"

namespace rookery::sim {
namespace {

constexpr int kPhases = 4;

// Standing at the origin's place, facing the viewer (−y) or away from it.
std::vector<Solid> person(Vec3 at, float phase, bool away) {
  const Material coat = paint(58, 82, 112, 0.06F);
  const Material apron = paint(188, 162, 124, 0.03F);
  const Material trousers = paint(46, 48, 56, 0.05F);
  const Material skin = paint(198, 150, 122, 0.1F);
  const Material hair = paint(58, 40, 30, 0.15F);
  const Material shoes = paint(34, 28, 26, 0.2F);
  const float stride = 20 * std::sin(phase);
  const float rise = 9 * std::max(0.0F, std::cos(phase));
  const float rise2 = 9 * std::max(0.0F, -std::cos(phase));
  const float face = away ? 1.0F : -1.0F;
  const float bob = 1.5F * std::fabs(std::cos(phase));
  const auto p = [&](float x, float y, float z) { return at + Vec3{x, y * face, z}; };
  std::vector<Solid> body{
      capsule(p(-10, 0, 88 + bob), p(-11, stride * 0.5F, 48 + rise * 0.5F), 8.5F, trousers),
      capsule(p(-11, stride * 0.5F, 48 + rise * 0.5F), p(-11, stride * 0.9F, 9 + rise), 6.5F, trousers),
      capsule(p(10, 0, 88 + bob), p(11, -stride * 0.5F, 48 + rise2 * 0.5F), 8.5F, trousers),
      capsule(p(11, -stride * 0.5F, 48 + rise2 * 0.5F), p(11, -stride * 0.9F, 9 + rise2), 6.5F, trousers),
      ellipsoid(p(-12, stride * 0.9F + 6, 5 + rise), {5.5F, 13, 5}, shoes),
      ellipsoid(p(12, -stride * 0.9F + 6, 5 + rise2), {5.5F, 13, 5}, shoes),
      ellipsoid(p(0, 0, 118 + bob), {21, 13.5F, 34}, coat),
      ellipsoid(p(0, 0, 140 + bob), {24, 12, 12}, coat),
      ellipsoid(p(0, 0, 92 + bob), {18, 13, 13}, coat),
      capsule(p(-24, 0, 140 + bob), p(-29, -stride * 0.3F, 114 + bob), 6, coat),
      capsule(p(-29, -stride * 0.3F, 114 + bob), p(-26, 6 - stride * 0.6F, 92 + bob), 5, coat),
      capsule(p(24, 0, 140 + bob), p(29, stride * 0.3F, 114 + bob), 6, coat),
      capsule(p(29, stride * 0.3F, 114 + bob), p(26, 6 + stride * 0.6F, 92 + bob), 5, coat),
      ellipsoid(p(-26, 7 - stride * 0.65F, 87 + bob), {4, 4.5F, 6}, skin),
      ellipsoid(p(26, 7 + stride * 0.65F, 87 + bob), {4, 4.5F, 6}, skin),
      capsule(p(0, 0, 148 + bob), p(0, 1, 156 + bob), 5.5F, skin),
      ellipsoid(p(0, 2, 167 + bob), {9, 10.5F, 12.5F}, skin),
      ellipsoid(p(0, -2, 171 + bob), {10, 10.5F, 11}, hair)};
  if (!away) {
    // A bib, a skirt, a strap to each shoulder.
    body.push_back(box(p(0, 12.2F, 122 + bob), {11, 1.6F, 13}, apron, 1.5F));
    body.push_back(box(p(0, 11.4F, 92 + bob), {16, 2.6F, 20}, apron, 2.4F));
    for (const float side : {-9.0F, 9.0F})
      body.push_back(capsule(p(side, 11.5F, 134 + bob), p(side * 0.7F, 6.5F, 150 + bob), 1.4F, apron));
  }
  return body;
}

}  // namespace

Walker::Walker(const World& world, Vec3 place, Size size, const Look& look) {
  for (int i = 0; i < kPhases; ++i) {
    const float phase = static_cast<float>(i) * 6.2831853F / kPhases;
    towards_.emplace_back(world, person(place, phase, false), place, size, look);
    away_.emplace_back(world, person(place, phase, true), place, size, look);
  }
}

void Walker::draw(Canvas& canvas, const Projection& view, Vec3 at, float steps, bool away, float opacity,
                  float gain) const {
  const int phase = static_cast<int>(std::floor(steps * kPhases / 2)) % kPhases;
  const Vec3 foot = view.project(at);
  const float s = view.scale(foot.z);
  canvas.shadow({foot.x, foot.y}, 34 * s, 10 * s, 0.55F * opacity);
  (away ? away_ : towards_)[static_cast<std::size_t>(phase)].draw_scaled(canvas, view, at, opacity, gain);
}

}  // namespace rookery::sim
