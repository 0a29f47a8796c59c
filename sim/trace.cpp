// How it stays cheap: each tile of the picture knows which solids can be seen in it; shadows and occlusion
// are sampled at every second pixel in both directions and carried to the others between pixels of the same
// solid; only pixels on edges are sampled more than once.
#include "sim/trace.h"

#include <algorithm>
#include <array>
#include <limits>
#include <span>

#include "sim/trace_solids.h"

namespace rookery::sim {
namespace {

constexpr int kMaxLamps = 3;
constexpr int kShadowRays = 4;
constexpr int kOpenRays = 5;
constexpr int kEdgeSamples = 3;     // squared
constexpr int kFewEdgeSamples = 2;  // of small pictures, which are enlarged or only tested with
constexpr int kSmallWidth = 400;
constexpr float kReach = 60;  // how far occlusion is looked for, cm
constexpr int kTile = 16;     // pixels a side

struct Pixel {
  int id = -1;
  Vec3 point;
  Vec3 normal;
};

struct Visibility {
  std::array<float, kMaxLamps> lamp{};
  float open = 1;
};

Vec3 direction_around(Vec3 n, float u, float v) {
  const Vec3 side = unit(std::fabs(n.z) < 0.9F ? cross(n, {0, 0, 1}) : cross(n, {1, 0, 0}));
  const Vec3 other = cross(n, side);
  const float r = std::sqrt(u);
  const float a = 6.2831853F * v;
  return side * (r * std::cos(a)) + other * (r * std::sin(a)) + n * std::sqrt(1 - u);
}

class Tracer {
 public:
  Tracer(const World& world, Size size, Region region)
      : world_(world),
        view_(world.camera, size),
        region_(region),
        edge_samples_(size.width < kSmallWidth ? kFewEdgeSamples : kEdgeSamples) {
    for (std::size_t i = 0; i < world.solids.size(); ++i) {
      bounds_.push_back(bounds_of(world.solids[i]));
      all_.push_back(static_cast<int>(i));
    }
  }

  Film run();

 private:
  Pixel look(float x, float y, std::span<const int> among) const;
  void look_at_all();
  bool may_be_seen(const Bounds& bounds, Region tile) const;
  Visibility compute_visibility(const Pixel& pixel, std::uint32_t salt) const;
  // Which solids can throw a shadow from a lamp, or stand near enough to take light from above.
  void gather_between(Vec3 from, Vec3 to, float slack) const;
  void gather_near(Vec3 point, float reach) const;
  bool blocked(Vec3 from, Vec3 direction, float distance) const;  // by those gathered
  Visibility carried(int x, int y, const Pixel& pixel) const;
  Vec3 colour_of(const Pixel& pixel, const Visibility& seen) const;
  bool on_edge(int x, int y) const;
  void resample(int x, int y, Film& film) const;
  const Pixel& at(int x, int y) const { return pixels_[static_cast<std::size_t>(y * region_.width + x)]; }

  const World& world_;
  Projection view_;
  Region region_;
  const int edge_samples_;
  std::vector<Bounds> bounds_;
  std::vector<int> all_;
  mutable std::vector<int> gathered_;  // scratch of one thread
  std::vector<Pixel> pixels_;
  std::vector<Visibility> seen_;  // every second pixel
  int seen_width_ = 0;
};

Pixel Tracer::look(float x, float y, std::span<const int> among) const {
  const Vec3 direction = view_.ray(x, y);
  Pixel pixel;
  float nearest = std::numeric_limits<float>::max();
  for (const int i : among) {
    const float t = hit_distance(world_.solids[static_cast<std::size_t>(i)], view_.eye(), direction);
    if (t > 0 && t < nearest) {
      nearest = t;
      pixel.id = i;
    }
  }
  if (pixel.id >= 0) {
    pixel.point = view_.eye() + direction * nearest;
    pixel.normal = normal_at(world_.solids[static_cast<std::size_t>(pixel.id)], pixel.point);
  }
  return pixel;
}

// Whether a solid within these bounds can meet a ray through the tile. Exact enough: never no when it can.
bool Tracer::may_be_seen(const Bounds& b, Region tile) const {
  float x0 = 1e9F;
  float y0 = 1e9F;
  float x1 = -1e9F;
  float y1 = -1e9F;
  for (int k = 0; k < 8; ++k) {
    const Vec3 p = view_.project({(k & 1) != 0 ? b.low.x : b.high.x, (k & 2) != 0 ? b.low.y : b.high.y,
                                  (k & 4) != 0 ? b.low.z : b.high.z});
    if (p.z < 1) return true;  // beside or behind the eye: its outline tells nothing
    x0 = std::min(x0, p.x);
    y0 = std::min(y0, p.y);
    x1 = std::max(x1, p.x);
    y1 = std::max(y1, p.y);
  }
  const auto at = [](int v) { return static_cast<float>(v); };
  return x1 + 1 >= at(tile.x) && x0 - 1 <= at(tile.x + tile.width) && y1 + 1 >= at(tile.y) &&
         y0 - 1 <= at(tile.y + tile.height);
}

void Tracer::look_at_all() {
  std::vector<int> among;
  for (int top = 0; top < region_.height; top += kTile) {
    for (int left = 0; left < region_.width; left += kTile) {
      const Region tile{left, top, std::min(kTile, region_.width - left),
                        std::min(kTile, region_.height - top)};
      among.clear();
      for (const int i : all_) {
        const Region placed{region_.x + tile.x, region_.y + tile.y, tile.width, tile.height};
        if (may_be_seen(bounds_[static_cast<std::size_t>(i)], placed)) among.push_back(i);
      }
      for (int y = top; y < top + tile.height; ++y) {
        for (int x = left; x < left + tile.width; ++x)
          pixels_[static_cast<std::size_t>(y * region_.width + x)] =
              look(static_cast<float>(region_.x + x) + 0.5F, static_cast<float>(region_.y + y) + 0.5F, among);
      }
    }
  }
}

bool Tracer::blocked(Vec3 from, Vec3 direction, float distance) const {
  for (const int i : gathered_) {
    const float t = hit_distance(world_.solids[static_cast<std::size_t>(i)], from, direction);
    if (t > 0 && t < distance) return true;
  }
  return false;
}

void Tracer::gather_between(Vec3 from, Vec3 to, float slack) const {
  gathered_.clear();
  const Vec3 way = to - from;
  const auto inverse = [](float d) { return 1 / (std::fabs(d) < 1e-6F ? 1e-6F : d); };
  const Vec3 by{inverse(way.x), inverse(way.y), inverse(way.z)};
  for (const int i : all_) {
    if (!world_.solids[static_cast<std::size_t>(i)].material.casts) continue;
    const Bounds& b = bounds_[static_cast<std::size_t>(i)];
    const Vec3 one = (b.low - Vec3{slack, slack, slack} - from) * by;
    const Vec3 two = (b.high + Vec3{slack, slack, slack} - from) * by;
    const float enter =
        std::max({std::min(one.x, two.x), std::min(one.y, two.y), std::min(one.z, two.z), 0.0F});
    const float leave =
        std::min({std::max(one.x, two.x), std::max(one.y, two.y), std::max(one.z, two.z), 1.0F});
    if (enter <= leave) gathered_.push_back(i);
  }
}

void Tracer::gather_near(Vec3 point, float reach) const {
  gathered_.clear();
  for (const int i : all_) {
    if (!world_.solids[static_cast<std::size_t>(i)].material.casts) continue;
    const Bounds& b = bounds_[static_cast<std::size_t>(i)];
    const Vec3 off{std::max({b.low.x - point.x, 0.0F, point.x - b.high.x}),
                   std::max({b.low.y - point.y, 0.0F, point.y - b.high.y}),
                   std::max({b.low.z - point.z, 0.0F, point.z - b.high.z})};
    if (dot(off, off) < reach * reach) gathered_.push_back(i);
  }
}

Visibility Tracer::compute_visibility(const Pixel& pixel, std::uint32_t salt) const {
  Visibility seen;
  const Vec3 from = pixel.point + pixel.normal * 0.05F;
  for (std::size_t l = 0; l < world_.lamps.size(); ++l) {
    const Lamp& lamp = world_.lamps[l];
    int free = 0;
    gather_between(from, lamp.place, lamp.radius);
    for (std::uint32_t s = 0; s < kShadowRays; ++s) {
      const Vec3 jitter{hash01(salt, s * 8 + 1) - 0.5F, hash01(salt, s * 8 + 2) - 0.5F,
                        hash01(salt, s * 8 + 3) - 0.5F};
      const Vec3 way = lamp.place + jitter * (2 * lamp.radius) - from;
      const float distance = length(way);
      if (dot(way, pixel.normal) > 0 && !blocked(from, way * (1 / distance), distance)) ++free;
    }
    seen.lamp[l] = static_cast<float>(free) / kShadowRays;
  }
  float open = 0;
  gather_near(from, kReach);
  for (std::uint32_t s = 0; s < kOpenRays; ++s) {
    const float u = (static_cast<float>(s) + hash01(salt, s * 8 + 5)) / kOpenRays;
    const Vec3 way = direction_around(pixel.normal, u, hash01(salt, s * 8 + 6));
    if (!blocked(from, way, kReach)) open += 1;
  }
  seen.open = open / kOpenRays;
  return seen;
}

// Shadows for a pixel from the sampled pixels round it that lie on the same solid and face the same way.
Visibility Tracer::carried(int x, int y, const Pixel& pixel) const {
  Visibility sum;
  sum.open = 0;
  float weight = 0;
  const int seen_height = static_cast<int>(seen_.size()) / seen_width_;
  for (int gy = std::max(0, y / 2 - 2); gy <= std::min(seen_height - 1, y / 2 + 2); ++gy) {
    for (int gx = std::max(0, x / 2 - 2); gx <= std::min(seen_width_ - 1, x / 2 + 2); ++gx) {
      const Pixel& other = at(std::min(gx * 2, region_.width - 1), std::min(gy * 2, region_.height - 1));
      if (other.id != pixel.id || dot(other.normal, pixel.normal) < 0.85F) continue;
      const auto far = static_cast<float>((gx * 2 - x) * (gx * 2 - x) + (gy * 2 - y) * (gy * 2 - y));
      const float w = 1 / (3 + far);
      const Visibility& v = seen_[static_cast<std::size_t>(gy * seen_width_ + gx)];
      for (std::size_t l = 0; l < kMaxLamps; ++l) sum.lamp[l] += w * v.lamp[l];
      sum.open += w * v.open;
      weight += w;
    }
  }
  if (weight == 0)
    return compute_visibility(pixel, hash32(static_cast<std::uint32_t>(x), static_cast<std::uint32_t>(y)));
  for (float& lamp : sum.lamp) lamp /= weight;
  sum.open /= weight;
  return sum;
}

Vec3 lit(const World& world, const Material& material, Vec3 point, Vec3 normal, Vec3 to_eye,
         const Visibility& seen, Vec3 colour) {
  const float up = 0.5F + 0.5F * normal.z;
  const float open = seen.open * seen.open * 0.6F + seen.open * 0.4F;
  Vec3 light = mix(world.ground, world.sky, up) * open;
  Vec3 shine{};
  for (std::size_t l = 0; l < world.lamps.size(); ++l) {
    const Lamp& lamp = world.lamps[l];
    const Vec3 way = lamp.place - point;
    const float metres2 = std::max(0.02F, dot(way, way) * 1e-4F);
    const Vec3 to_lamp = unit(way);
    const float cosine = std::max(0.0F, dot(normal, to_lamp));
    light += lamp.colour * (cosine * seen.lamp[l] / metres2);
    const Vec3 half = unit(to_lamp + to_eye);
    const float facing_lamp = dot(normal, half);
    if (facing_lamp < 0.5F) continue;  // too dim to see, and the power is dear
    const float high = std::pow(facing_lamp, material.sharpness);
    shine += lamp.colour * (high * seen.lamp[l] * material.gloss * (material.sharpness + 8) / 40 / metres2);
  }
  // Reflected surroundings, stronger at a grazing view.
  const float facing = clamp01(dot(normal, to_eye));
  const float rim = material.gloss * (0.25F + 0.75F * std::pow(1 - facing, 4.0F));
  const Vec3 mirrored = normal * (2 * facing) - to_eye;
  shine += mix(world.ground, world.sky, 0.5F + 0.5F * mirrored.z) * (rim * open * 2);
  return colour * light + shine + material.glow;
}

Vec3 Tracer::colour_of(const Pixel& pixel, const Visibility& seen) const {
  const Material& material = world_.solids[static_cast<std::size_t>(pixel.id)].material;
  Vec3 normal = pixel.normal;
  const Vec3 colour = surface_colour(material, pixel.point, normal);
  return lit(world_, material, pixel.point, normal, unit(view_.eye() - pixel.point), seen, colour);
}

bool Tracer::on_edge(int x, int y) const {
  const Pixel& here = at(x, y);
  for (const auto& [dx, dy] : {std::pair{1, 0}, std::pair{0, 1}, std::pair{-1, 0}, std::pair{0, -1}}) {
    const int nx = std::clamp(x + dx, 0, region_.width - 1);
    const int ny = std::clamp(y + dy, 0, region_.height - 1);
    const Pixel& there = at(nx, ny);
    if (there.id != here.id || (here.id >= 0 && dot(here.normal, there.normal) < 0.9F)) return true;
  }
  return false;
}

void Tracer::resample(int x, int y, Film& film) const {
  // Only solids that were met close by can share this pixel.
  std::array<int, 25> among{};
  std::size_t count = 0;
  for (int ny = std::max(0, y - 2); ny <= std::min(region_.height - 1, y + 2); ++ny) {
    for (int nx = std::max(0, x - 2); nx <= std::min(region_.width - 1, x + 2); ++nx) {
      const int id = at(nx, ny).id;
      if (id >= 0 && std::find(among.begin(), among.begin() + count, id) == among.begin() + count)
        among[count++] = id;
    }
  }
  int known = -1;
  Vec3 known_normal{};
  Visibility known_seen;
  Vec3 sum{};
  float covered = 0;
  float front = 0;
  for (int s = 0; s < edge_samples_ * edge_samples_; ++s) {
    const float sx = (static_cast<float>(s % edge_samples_) + 0.5F) / static_cast<float>(edge_samples_);
    const float sy = (static_cast<float>(s / edge_samples_) + 0.5F) / static_cast<float>(edge_samples_);
    const Pixel pixel = look(static_cast<float>(region_.x + x) + sx, static_cast<float>(region_.y + y) + sy,
                             std::span<const int>(among.data(), count));
    if (pixel.id < 0) {
      sum += world_.backdrop;
      continue;
    }
    // One very bright sample must not eat the edge's smoothness.
    if (pixel.id != known || dot(pixel.normal, known_normal) < 0.9F) {
      known_seen = carried(x, y, pixel);
      known = pixel.id;
      known_normal = pixel.normal;
    }
    const Vec3 c = colour_of(pixel, known_seen);
    sum += Vec3{std::min(c.x, 2.0F), std::min(c.y, 2.0F), std::min(c.z, 2.0F)};
    covered += 1;
    if (world_.solids[static_cast<std::size_t>(pixel.id)].front) front += 1;
  }
  const float share = 1.0F / static_cast<float>(edge_samples_ * edge_samples_);
  const auto i = static_cast<std::size_t>(y * region_.width + x);
  film.colour[i] = sum * share;
  film.alpha[i] = covered * share;
  film.front[i] = front * share;
}

Film Tracer::run() {
  const auto count = static_cast<std::size_t>(region_.width * region_.height);
  Film film{region_.width, region_.height, std::vector<Vec3>(count), std::vector<float>(count),
            std::vector<float>(count)};
  pixels_.resize(count);
  look_at_all();
  seen_width_ = (region_.width + 1) / 2;
  for (int y = 0; y < region_.height; y += 2) {
    for (int x = 0; x < region_.width; x += 2) {
      const Pixel& pixel = at(x, y);
      const std::uint32_t salt = hash32(static_cast<std::uint32_t>(x), static_cast<std::uint32_t>(y));
      seen_.push_back(pixel.id < 0 ? Visibility{} : compute_visibility(pixel, salt));
    }
  }
  for (int y = 0; y < region_.height; ++y) {
    for (int x = 0; x < region_.width; ++x) {
      const auto i = static_cast<std::size_t>(y * region_.width + x);
      const Pixel& pixel = pixels_[i];
      if (on_edge(x, y)) {
        resample(x, y, film);
      } else if (pixel.id < 0) {
        film.colour[i] = world_.backdrop;
      } else {
        film.colour[i] = colour_of(pixel, carried(x, y, pixel));
        film.alpha[i] = 1;
        film.front[i] = world_.solids[static_cast<std::size_t>(pixel.id)].front ? 1.0F : 0.0F;
      }
    }
  }
  return film;
}

}  // namespace

Projection::Projection(const Camera& camera, Size size)
    : eye_(camera.eye),
      forward_(unit(camera.target - camera.eye)),
      focal_(static_cast<float>(size.width) / 2 / std::tan(camera.view * 3.14159265F / 360)),
      cx_(static_cast<float>(size.width) / 2),
      cy_(static_cast<float>(size.height) / 2) {
  right_ = unit(cross(forward_, {0, 0, 1}));
  down_ = cross(forward_, right_);
}

Vec3 Projection::project(Vec3 point) const {
  const Vec3 d = point - eye_;
  const float depth = std::max(0.1F, dot(d, forward_));
  return {cx_ + focal_ * dot(d, right_) / depth, cy_ + focal_ * dot(d, down_) / depth, depth};
}

Vec3 Projection::ray(float x_px, float y_px) const {
  return unit(forward_ + right_ * ((x_px - cx_) / focal_) + down_ * ((y_px - cy_) / focal_));
}

Film render(const World& world, Size size, Region region) {
  if (region.width == 0) region = {0, 0, size.width, size.height};
  return Tracer(world, size, region).run();
}

Vec3 shade_simply(const World& world, const Material& material, Vec3 point, Vec3 normal, Vec3 towards_eye,
                  float openness) {
  Visibility seen;
  seen.lamp.fill(0.4F + 0.6F * openness);
  seen.open = openness;
  return lit(world, material, point, normal, towards_eye, seen, material.colour);
}

}  // namespace rookery::sim
