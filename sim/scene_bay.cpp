// The loading bay by day: trees in the wind, birds, a van that comes, unloads and goes.
#include "sim/scene_parts.h"

namespace rookery::sim {
namespace {

// Of a van's visit, seconds: driving in or out; standing before and after somebody carries.
constexpr float kDrive = 6;
constexpr float kUnload = 2;
constexpr float kLeave = 1;

World bay_world() {
  World w;
  const Material wall = paint(186, 172, 150, 0.04F, Finish::brick);
  const Material steel = paint(120, 134, 142, 0.3F);
  const Material yellow = paint(224, 178, 46, 0.25F);
  w.solids = {block({-3000, -500, -10}, {3000, 1300, 0}, paint(122, 121, 120, 0.1F, Finish::asphalt)),
              block({-900, 330, 0}, {-60, 900, 430}, wall),
              block({-920, 310, 430}, {-40, 920, 446}, paint(92, 94, 98, 0.1F)),
              block({-470, 320, 0}, {-180, 334, 300}, paint(40, 42, 44, 0)),
              block({-500, 230, 0}, {-150, 330, 34}, paint(150, 148, 142, 0.06F, Finish::concrete), 2),
              block({-500, 228, 26}, {-150, 231, 33}, yellow),
              block({-520, 190, 318}, {-130, 334, 326}, paint(84, 96, 100, 0.2F))};
  for (int i = 0; i < 12; ++i) {
    const float z = 40 + 21.6F * static_cast<float>(i);
    w.solids.push_back(block({-466, 316, z}, {-184, 321, z + 19.5F}, steel, 2));
  }
  for (const float x : {-120.0F, -90.0F}) {
    w.solids.push_back(cylinder({x, 250, 52}, 8, 52, 2, yellow, 3));
    w.solids.push_back(cylinder({x, 250, 66}, 8.3F, 6, 2, paint(40, 40, 42, 0.2F)));
  }
  for (int i = 0; i < 4; ++i)
    w.solids.push_back(block({-40 + 190 * static_cast<float>(i), 60, 0},
                             {-30 + 190 * static_cast<float>(i), 320, 0.6F}, paint(224, 220, 208, 0.05F), 0));
  // A fence in front of the trees, pallets.
  for (int i = 0; i < 12; ++i)
    w.solids.push_back(block({-40 + 130 * static_cast<float>(i), 848, 0},
                             {-32 + 130 * static_cast<float>(i), 856, 120},
                             paint(112, 92, 70, 0.05F, Finish::planks)));
  for (const float z : {40.0F, 92.0F})
    w.solids.push_back(block({-60, 850, z}, {1500, 854, z + 14}, paint(124, 102, 78, 0.05F, Finish::wood)));
  for (int i = 0; i < 4; ++i)
    w.solids.push_back(box({700, 560, 9 + 17 * static_cast<float>(i)}, {60, 42, 6},
                           paint(176, 142, 98, 0.05F, Finish::wood), 1, 0.1F * static_cast<float>(i % 3)));
  w.solids.push_back(box({696, 560, 96}, {44, 34, 26}, paint(170, 134, 92, 0.05F), 1, 0.2F));
  w.lamps = {{{900, -900, 1500}, {330, 305, 265}, 70}};
  w.sky = {0.42F, 0.5F, 0.62F};
  w.ground = {0.2F, 0.18F, 0.16F};
  w.camera = {{60, -470, 250}, {40, 300, 150}, 62};
  return w;
}

// Facing left, its middle at `at`.
std::vector<Solid> van(Vec3 at) {
  const Material white = paint(226, 226, 222, 0.35F);
  const Material glass = paint(30, 38, 46, 0.8F);
  const Material tyre = paint(28, 28, 30, 0.1F);
  const Material trim = paint(50, 52, 56, 0.2F);
  const auto p = [&](float x, float y, float z) { return at + Vec3{x, y, z}; };
  std::vector<Solid> van{block(p(-90, -95, 45), p(270, 95, 255), white, 10),
                         block(p(-205, -92, 45), p(-90, 92, 150), white, 14),
                         box(p(-112, 0, 195), {62, 88, 52}, white, 14),
                         block(p(-172, -88.6F, 152), p(-100, -88, 226), glass, 3),
                         block(p(-175.5F, -78, 150), p(-173, 78, 232), glass, 3),
                         block(p(-212, -92, 42), p(-196, 92, 72), trim, 4),
                         block(p(-206.5F, -86, 96), p(-204, -56, 122), glowing({1, 0.97F, 0.9F}, 0.8F), 3),
                         block(p(-90, -96, 78), p(268, -94.6F, 88), paint(30, 128, 132, 0.3F), 1),
                         block(p(-90, -96, 96), p(268, -94.6F, 128), paint(30, 128, 132, 0.3F), 1),
                         block(p(-200, -96, 40), p(270, -90, 50), trim, 2),
                         block(p(268, -90, 120), p(271, -70, 160), paint(190, 40, 32, 0.4F), 2),
                         box(p(-182, -104, 166), {8, 10, 16}, trim, 3)};
  for (const float x : {-140.0F, 190.0F}) {
    van.push_back(cylinder(p(x, -84, 42), 42, 16, 1, tyre, 6));
    van.push_back(cylinder(p(x, -98, 42), 22, 3.5F, 1, metal(0.55F), 2));
    van.push_back(cylinder(p(x, 84, 42), 42, 16, 1, tyre, 6));
  }
  return van;
}

// Sky, clouds and trees where the film holds nothing.
void paint_outdoors(Film& film, std::uint32_t seed, const Projection& view) {
  const float horizon = view.project({0, 100000, 0}).y;
  const float unit = static_cast<float>(film.width) / 640;
  std::vector<Vec3> back(film.colour.size());
  for (int y = 0; y < film.height; ++y) {
    for (int x = 0; x < film.width; ++x) {
      const auto fx = static_cast<float>(x) / unit;
      const auto fy = static_cast<float>(y) / unit;
      const float up = clamp01((horizon - static_cast<float>(y)) / (horizon + 1));
      Vec3 sky = mix(Vec3{0.86F, 0.9F, 0.93F}, Vec3{0.36F, 0.55F, 0.86F}, std::pow(up, 0.7F));
      const float far = 1 / (0.25F + up);
      const float cloud = smooth(0.5F, 0.72F, fbm3({fx * 0.006F * far, fy * 0.02F * far, 3.3F}));
      sky = mix(sky, Vec3{1.05F, 1.03F, 1.0F} * (0.85F + 0.2F * fbm3({fx * 0.02F, fy * 0.04F, 8})),
                cloud * 0.85F);
      // Beyond the yard a meadow rises to the trees.
      const float down = static_cast<float>(y) - horizon;
      const float blade = fbm3({fx * 0.09F, fy * 0.5F, 1.7F});
      const Vec3 meadow = mix(Vec3{0.3F, 0.38F, 0.2F}, Vec3{0.2F, 0.3F, 0.1F}, clamp01(down / (24 * unit))) *
                          (0.75F + 0.5F * blade);
      sky = mix(sky, meadow, clamp01(down / unit + 0.5F));
      back[static_cast<std::size_t>(y * film.width + x)] = sky;
    }
  }
  // Crowns of many small dabs: light from the upper right, darker and bluer far away.
  const auto dab = [&](float cx, float cy, float r, Vec3 colour) {
    for (int y = std::max(0, static_cast<int>(cy - r));
         y <= std::min(film.height - 1, static_cast<int>(cy + r)); ++y) {
      for (int x = std::max(0, static_cast<int>(cx - r));
           x <= std::min(film.width - 1, static_cast<int>(cx + r)); ++x) {
        const float dx = static_cast<float>(x) - cx;
        const float dy = static_cast<float>(y) - cy;
        const float d = clamp01((r - std::sqrt(dx * dx + dy * dy)) + 0.5F);
        Vec3& out = back[static_cast<std::size_t>(y * film.width + x)];
        out = mix(out, colour, d * 0.9F);
      }
    }
  };
  for (int row = 0; row < 2; ++row) {
    for (int tree = 0; tree < 9; ++tree) {
      const auto k = static_cast<std::uint32_t>(row * 100 + tree);
      const float cx = (210 + 62 * static_cast<float>(tree) + 30 * hash01(seed, k)) * unit;
      const float tall = (row == 0 ? 92.0F : 66.0F) * (0.75F + 0.5F * hash01(seed, k + 31)) * unit;
      const float base = horizon + (row == 0 ? 8.0F : 20.0F) * unit;
      for (std::uint32_t i = 0; i < 420; ++i) {
        const float a = 6.2831853F * hash01(hash32(seed, k), i * 4);
        const float r = std::sqrt(hash01(hash32(seed, k), i * 4 + 1));
        const float ex = r * std::cos(a);
        const float ey = r * std::sin(a);
        const float lump = 0.82F + 0.3F * noise3({ex * 2.2F, ey * 2.2F, static_cast<float>(k)});
        const float px = cx + ex * tall * 0.58F * lump;
        const float py = base - tall * 0.55F + ey * tall * 0.6F * lump;
        const float light =
            clamp01(0.42F + 0.34F * ex - 0.42F * ey + 0.3F * (hash01(hash32(seed, k), i * 4 + 2) - 0.5F));
        const Vec3 leaf = mix(Vec3{0.035F, 0.075F, 0.035F}, Vec3{0.3F, 0.42F, 0.12F}, light) *
                          (0.85F + 0.3F * hash01(seed, k + 7));
        dab(px, py, (row == 0 ? 4.2F : 3.6F) * unit * (0.7F + 0.6F * hash01(i, k)),
            row == 0 ? mix(leaf, Vec3{0.5F, 0.6F, 0.68F}, 0.25F) : leaf);
      }
    }
  }
  for (std::size_t i = 0; i < film.colour.size(); ++i) film.colour[i] += back[i] * (1 - film.alpha[i]);
}

class Bay final : public Scene {
 public:
  Bay(std::uint64_t seed, Size size)
      : Scene(size),
        seed_(static_cast<std::uint32_t>(seed)),
        view_(bay_world().camera, size),
        vans_(seed, 70, 34, 46),
        birds_(seed + 3, 26, 7, 9) {
    const World world = bay_world();
    const Look look{.exposure = 0.62F, .tint = {1.0F, 1, 1.02F}, .bloom = 0.05F};
    Film film = render(world, size);
    paint_outdoors(film, seed_, view_);
    still_ = develop(film, look);
    van_ = Mover(world, van({170, 330, 0}), {170, 330, 0}, size, look);
    walker_ = Walker(world, {-120, 200, 0}, size, look);
  }

  void paint(Canvas& canvas, SceneTime t) const override {
    const double s = static_cast<double>(t.count()) * 1e-6;
    canvas.restore(still_);
    const float unit = static_cast<float>(size().width) / 640;
    const float horizon = view_.project({0, 100000, 0}).y;
    const float gust = 0.5F + noise1(static_cast<float>(s) * 0.35F, seed_);
    canvas.moving("trees");
    canvas.sway({static_cast<int>(300 * unit), static_cast<int>(horizon - 105 * unit),
                 static_cast<int>(340 * unit), static_cast<int>(120 * unit)},
                1.7F * gust * unit, static_cast<float>(s) * 1.9F, 60 * unit, true);
    Visit visit;
    double into = 0;
    canvas.moving("birds");
    if (birds_.under_way(s, visit, into)) draw_birds(canvas, visit, static_cast<float>(into), unit, horizon);
    if (vans_.under_way(s, visit, into)) draw_van(canvas, visit, static_cast<float>(into));
  }

  std::vector<Motion> happenings(SceneTime until) const override {
    // The trees never rest.
    std::vector<Motion> all{Motion{SceneTime{}, until, TruthKind::ambient, "trees", {}}};
    const auto add = [&](const std::vector<Motion>& more) {
      all.insert(all.end(), more.begin(), more.end());
    };
    add(birds_.motions(until, TruthKind::ambient, "birds"));
    add(vans_.motions(until, TruthKind::wanted, "van", 0, kDrive));
    add(vans_.motions(until, TruthKind::wanted, "van", -kDrive));
    add(vans_.motions(until, TruthKind::wanted, "carrier", kDrive + kUnload, -kDrive - kLeave));
    return all;
  }

 private:
  void draw_van(Canvas& canvas, const Visit& visit, float into) const {
    const auto length = static_cast<float>(visit.length);
    const bool leaving = into > length - kDrive;
    const float u = leaving ? (length - into) / kDrive : std::min(1.0F, into / kDrive);
    const float ease = 1 - (1 - u) * (1 - u);
    const Vec3 at{mix(1250.0F, 170.0F, ease), 330, u < 1 ? 0.8F * std::sin(into * 9) : 0.0F};
    const Vec3 middle = view_.project({at.x + 35, at.y - 60, 0});
    const float px = view_.scale(middle.z);
    canvas.moving(u < 1 ? "van" : "");
    canvas.shadow({middle.x - 20 * px, middle.y}, 330 * px, 66 * px, 0.75F);
    if (into > kDrive + kUnload && into < length - kDrive - kLeave) {
      canvas.moving("carrier");
      // Somebody carries boxes between van and dock while it stands.
      const float way = into - kDrive - kUnload;
      const float to_and_fro = std::fabs(std::fmod(way / 7, 2.0F) - 1);
      const bool away = std::fmod(way / 7, 2.0F) < 1;
      walker_.draw(canvas, view_, {mix(-330.0F, -75.0F, to_and_fro), 200, 0}, way * 1.8F, away,
                   smooth(0, 1, way));
    }
    canvas.moving(u < 1 ? "van" : "");
    van_.draw(canvas, view_, at);
    if (!leaving && u < 1)
      canvas.glow({view_.project(at + Vec3{-206, -70, 108}).x, view_.project(at + Vec3{-206, -70, 108}).y},
                  60 * px, 40 * px, ink(255, 248, 226), 0.6F);
  }

  void draw_birds(Canvas& canvas, const Visit& visit, float into, float unit, float horizon) const {
    for (std::uint32_t i = 0; i < 6; ++i) {
      const float x = -60 + into * 105 - 26 * static_cast<float>(i) + 14 * hash01(visit.dice, i);
      const float y = horizon / unit - 120 + 16 * static_cast<float>(i % 3) +
                      10 * noise1(into, i + visit.dice) - 30 * hash01(visit.dice, 50);
      const float wing = 3.4F * std::sin(into * 9 + static_cast<float>(i) * 1.3F);
      const Point body{x * unit, y * unit};
      const Ink dark = ink(62, 66, 74);
      canvas.line(body, {body.x - 5.5F * unit, body.y - wing * unit}, 1.5F * unit, dark, 0.9F);
      canvas.line(body, {body.x + 5.5F * unit, body.y - wing * unit}, 1.5F * unit, dark, 0.9F);
    }
  }

  std::uint32_t seed_;
  Projection view_;
  Visits vans_;
  Visits birds_;
  Picture still_;
  Mover van_;
  Walker walker_;
};

}  // namespace

std::unique_ptr<Scene> make_bay(std::uint64_t seed, Size size) { return std::make_unique<Bay>(seed, size); }

}  // namespace rookery::sim
