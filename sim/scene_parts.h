// Pieces that scenes share: materials of the workshop, sprites that know their place in space, repeated
// visits.
#pragma once

#include <memory>

#include "sim/scene.h"
#include "sim/trace.h"

namespace rookery::sim {

inline Material paint(int red, int green, int blue, float gloss = 0.05F, Finish finish = Finish::plain) {
  const auto linear = [](int v) { return std::pow(static_cast<float>(v) / 255, 2.2F); };
  Material material;
  material.colour = {linear(red), linear(green), linear(blue)};
  material.gloss = gloss;
  material.finish = finish;
  return material;
}

inline Material metal(float grey = 0.55F) {
  Material material;
  material.colour = {grey, grey, grey * 1.03F};
  material.gloss = 0.5F;
  material.sharpness = 40;
  material.finish = Finish::brushed;
  return material;
}

inline Material glowing(Vec3 colour, float strength) {
  Material material;
  material.colour = {0.05F, 0.05F, 0.05F};
  material.glow = colour * strength;
  material.casts = false;
  return material;
}

// A cut-out rendered at one place in space that can be drawn at others.
class Mover {
 public:
  Mover() = default;
  // Renders `solids` (in the light of `world`) as they stand at `place`.
  Mover(const World& world, std::vector<Solid> solids, Vec3 place, Size size, const Look& look);
  // Takes a film rendered elsewhere.
  Mover(Sprite sprite, Point corner, Vec3 place);
  void draw(Canvas& canvas, const Projection& view, Vec3 at, float opacity = 1, float gain = 1) const;
  // As it looks from here when it stands at `at`: larger when nearer.
  void draw_scaled(Canvas& canvas, const Projection& view, Vec3 at, float opacity = 1, float gain = 1,
                   bool mirrored = false) const;
  bool empty() const { return sprite_.width == 0; }
  Region region_at(const Projection& view, Vec3 at) const;

 private:
  Sprite sprite_;
  Point corner_;
  Vec3 place_;
};

// The rectangle of the picture that these solids can touch, a little enlarged.
Region region_of(const std::vector<Solid>& solids, const Projection& view, Size size);

inline float seconds(SceneTime t) { return static_cast<float>(static_cast<double>(t.count()) * 1e-6); }
inline SceneTime scene_seconds(double s) { return SceneTime(static_cast<std::int64_t>(s * 1e6)); }

// Somebody who walks: front and back, a step in four pictures.
class Walker {
 public:
  Walker() = default;
  // Rendered as standing at `place` (feet on its z) in the light of `world`.
  Walker(const World& world, Vec3 place, Size size, const Look& look);
  // `steps`: steps taken so far; a whole number stands still.
  void draw(Canvas& canvas, const Projection& view, Vec3 at, float steps, bool away, float opacity = 1,
            float gain = 1) const;

 private:
  std::vector<Mover> towards_;
  std::vector<Mover> away_;
};

// Something that happens once in each period, at a moment and of a kind that the seed decides.
struct Visit {
  double start = 0;  // seconds
  double length = 0;
  std::uint32_t dice = 0;  // for whatever else has to be decided
};
class Visits {
 public:
  Visits(std::uint64_t seed, double period, double shortest, double longest)
      : seed_(static_cast<std::uint32_t>(seed)), period_(period), shortest_(shortest), longest_(longest) {}
  Visit visit(std::int64_t index) const;
  std::int64_t index_at(double s) const { return static_cast<std::int64_t>(s / period_); }
  // The visit under way at second `s`, if there is one; `into` gets the seconds since its start.
  bool under_way(double s, Visit& visit, double& into) const;
  // The visits that begin before `until`, cut to what lies between `from` and `to`: seconds after the start
  // of a visit where not negative, else before its end.
  std::vector<Motion> motions(SceneTime until, TruthKind kind, std::string_view what, double from = 0,
                              double to = -0.0) const;

 private:
  std::uint32_t seed_;
  double period_;
  double shortest_;
  double longest_;
};

std::unique_ptr<Scene> make_printer(std::string_view name, std::uint64_t seed, Size size,
                                    const PrintJob& job = {});
std::unique_ptr<Scene> make_seedlings(std::uint64_t seed, Size size);
std::unique_ptr<Scene> make_counter(std::uint64_t seed, Size size);
std::unique_ptr<Scene> make_back_door(std::uint64_t seed, Size size);
std::unique_ptr<Scene> make_kiln(std::uint64_t seed, Size size);
std::unique_ptr<Scene> make_bay(std::uint64_t seed, Size size);

}  // namespace rookery::sim
