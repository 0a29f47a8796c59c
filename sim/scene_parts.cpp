#include "sim/scene_parts.h"

#include "sim/trace_solids.h"

namespace rookery::sim {
namespace {

void widen(Point& low, Point& high, Vec3 p, bool& first) {
  if (first) {
    low = high = {p.x, p.y};
    first = false;
  }
  low = {std::min(low.x, p.x), std::min(low.y, p.y)};
  high = {std::max(high.x, p.x), std::max(high.y, p.y)};
}

}  // namespace

Region region_of(const std::vector<Solid>& solids, const Projection& view, Size size) {
  Region region;
  Point low;
  Point high;
  bool first = true;
  for (const Solid& solid : solids) {
    const Bounds bounds = bounds_of(solid);
    for (int k = 0; k < 8; ++k) {
      const Vec3 corner{(k & 1) != 0 ? bounds.low.x : bounds.high.x,
                        (k & 2) != 0 ? bounds.low.y : bounds.high.y,
                        (k & 4) != 0 ? bounds.low.z : bounds.high.z};
      widen(low, high, view.project(corner), first);
    }
  }
  region.x = std::clamp(static_cast<int>(low.x) - 2, -size.width, 2 * size.width);
  region.y = std::clamp(static_cast<int>(low.y) - 2, -size.height, 2 * size.height);
  region.width = std::clamp(static_cast<int>(high.x) + 3 - region.x, 1, 2 * size.width);
  region.height = std::clamp(static_cast<int>(high.y) + 3 - region.y, 1, 2 * size.height);
  return region;
}

Mover::Mover(const World& world, std::vector<Solid> solids, Vec3 place, Size size, const Look& look)
    : place_(place) {
  const Projection view(world.camera, size);
  const Region region = region_of(solids, view, size);
  World alone = world;
  alone.solids = std::move(solids);
  alone.backdrop = {};
  sprite_ = develop_sprite(render(alone, size, region), look);
  corner_ = {static_cast<float>(region.x), static_cast<float>(region.y)};
}

Mover::Mover(Sprite sprite, Point corner, Vec3 place)
    : sprite_(std::move(sprite)), corner_(corner), place_(place) {}

void Mover::draw(Canvas& canvas, const Projection& view, Vec3 at, float opacity, float gain) const {
  const Vec3 here = view.project(at);
  const Vec3 there = view.project(place_);
  canvas.sprite(sprite_, corner_.x + here.x - there.x, corner_.y + here.y - there.y, opacity, gain);
}

void Mover::draw_scaled(Canvas& canvas, const Projection& view, Vec3 at, float opacity, float gain,
                        bool mirrored) const {
  const Vec3 here = view.project(at);
  const Vec3 there = view.project(place_);
  const float scale = there.z / here.z;
  const float left =
      mirrored ? there.x - (corner_.x + static_cast<float>(sprite_.width)) : corner_.x - there.x;
  canvas.sprite_scaled(sprite_, here.x + left * scale, here.y + (corner_.y - there.y) * scale, scale, opacity,
                       gain, mirrored);
}

Region Mover::region_at(const Projection& view, Vec3 at) const {
  const Vec3 here = view.project(at);
  const Vec3 there = view.project(place_);
  return {static_cast<int>(corner_.x + here.x - there.x), static_cast<int>(corner_.y + here.y - there.y),
          sprite_.width, sprite_.height};
}

Visit Visits::visit(std::int64_t index) const {
  const auto i = static_cast<std::uint32_t>(index);
  Visit visit;
  visit.length = shortest_ + (longest_ - shortest_) * hash01(seed_, i * 4 + 1);
  visit.start = static_cast<double>(index) * period_ + (period_ - visit.length) * hash01(seed_, i * 4 + 2);
  visit.dice = hash32(seed_, i * 4 + 3);
  return visit;
}

bool Visits::under_way(double s, Visit& found, double& into) const {
  found = visit(index_at(s));
  into = s - found.start;
  return into >= 0 && into < found.length;
}

std::vector<Motion> Visits::motions(SceneTime until, TruthKind kind, std::string_view what, double from,
                                    double to) const {
  std::vector<Motion> all;
  for (std::int64_t i = 0;; ++i) {
    const Visit next = visit(i);
    if (scene_seconds(next.start) >= until) return all;
    const auto at = [&](double s) { return next.start + (std::signbit(s) ? next.length + s : s); };
    all.push_back(Motion{scene_seconds(at(from)), scene_seconds(at(to)), kind, what, {}});
  }
}

}  // namespace rookery::sim
