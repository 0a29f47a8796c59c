// The front counter: the shop behind it, the door with daylight, now and then somebody who comes, waits and
// goes.
#include "sim/scene_parts.h"

namespace rookery::sim {
namespace {

constexpr double kPeriod = 55;
constexpr double kDoor = 3;  // seconds that the door takes to open and close

// What stands and hangs about in a repair shop: hedge and roofs outside, mat, wall clock, poster, a plant, a
// mended radio and a bicycle wheel waiting for their owners.
void furnish(std::vector<Solid>& shop) {
  const auto add = [&](Solid solid) { shop.push_back(solid); };
  add(block({-172, 423, 103}, {22, 423.8F, 138}, glowing({0.30F, 0.42F, 0.24F}, 0.75F)));
  add(block({-150, 423, 138}, {-92, 423.8F, 164}, glowing({0.56F, 0.46F, 0.4F}, 0.8F)));
  add(block({-30, 423, 138}, {8, 423.8F, 156}, glowing({0.5F, 0.5F, 0.5F}, 0.8F)));
  add(block({84, 390, 0}, {178, 428, 1.4F}, paint(92, 70, 52, 0.02F, Finish::soil)));
  add(cylinder({46, 428, 205}, 17, 2, 1, paint(238, 232, 216, 0.2F), 1));
  add(cylinder({46, 427, 205}, 19, 1.2F, 1, paint(60, 48, 40, 0.3F), 1));
  add(cylinder({46, 425.6F, 205}, 15.5F, 0.4F, 1, paint(244, 240, 228, 0.1F)));
  add(capsule({46, 424.8F, 205}, {46, 424.8F, 216}, 0.9F, paint(30, 30, 34, 0.1F)));
  add(capsule({46, 424.8F, 205}, {53, 424.8F, 201}, 0.9F, paint(30, 30, 34, 0.1F)));
  add(block({212, 427, 118}, {272, 430, 214}, paint(226, 214, 184, 0.05F), 0.5F));
  add(block({220, 426, 168}, {264, 428, 206}, paint(44, 92, 116, 0.05F)));
  add(cylinder({242, 425.6F, 187}, 13, 0.6F, 1, paint(222, 158, 62, 0.05F)));
  for (const float z : {128.0F, 138.0F, 148.0F})
    add(block({222, 426, z}, {262, 428, z + 3}, paint(120, 112, 98, 0.05F)));
  add(cylinder({232, 392, 20}, 20, 20, 2, paint(166, 92, 60, 0.1F), 2));
  for (int i = 0; i < 14; ++i) {
    const auto k = static_cast<std::uint32_t>(i);
    const float a = 6.28F * hash01(k, 31);
    const Vec3 root{232, 392, 40};
    const Vec3 tip =
        root + Vec3{(18 + 22 * hash01(k, 32)) * std::cos(a), 14 * std::sin(a), 26 + 50 * hash01(k, 33)};
    add(capsule(root, tip, 1.0F, paint(70, 96, 52, 0.05F)));
    add(ellipsoid(tip, {11, 6, 8}, paint(56 + 24 * (i % 3), 104, 58, 0.1F)));
  }
  add(cylinder({-232, 250, 52}, 48, 2.6F, 0, paint(34, 34, 36, 0.1F), 2));
  add(cylinder({-234, 250, 52}, 44, 2.9F, 0, paint(188, 178, 156, 0.03F), 1));
  add(cylinder({-231, 250, 52}, 6, 4, 0, metal(0.6F)));
}

World shop_world() {
  World w;
  const Material wall = paint(206, 194, 170, 0.03F, Finish::plaster);
  const Material oak = paint(150, 104, 64, 0.2F, Finish::wood);
  const Material dark_oak = paint(112, 74, 46, 0.15F, Finish::planks);
  const Material shelf = paint(140, 102, 66, 0.1F, Finish::wood);
  w.solids = {block({-400, -200, -4}, {500, 460, 0}, paint(150, 132, 112, 0.2F, Finish::tiles)),
              block({-400, 430, 0}, {500, 440, 330}, wall),
              block({-290, -200, 0}, {-280, 440, 330}, wall),
              block({-400, -200, 300}, {500, 440, 310}, paint(220, 214, 200, 0.02F, Finish::plaster)),
              block({70, 426, 0}, {190, 431, 225}, dark_oak),
              block({80, 424, 90}, {180, 427, 215}, glowing({0.85F, 0.95F, 1.0F}, 1.5F)),
              block({127, 422.5F, 90}, {133, 425, 215}, dark_oak),
              block({80, 422.5F, 150}, {180, 425, 155}, dark_oak),
              cylinder({88, 422, 80}, 3, 4, 1, metal(0.7F)),
              block({-180, 426, 95}, {30, 431, 235}, dark_oak),
              block({-172, 424, 103}, {22, 427, 227}, glowing({0.8F, 0.92F, 1.0F}, 1.35F)),
              block({-78, 422.5F, 103}, {-72, 425, 227}, dark_oak),
              block({-185, 410, 90}, {35, 432, 95}, oak)};
  for (const float z : {60.0F, 115.0F, 170.0F, 225.0F})
    w.solids.push_back(block({-282, 60, z}, {-240, 400, z + 4}, shelf));
  for (int i = 0; i < 22; ++i) {
    const auto k = static_cast<std::uint32_t>(i);
    const float z = 64 + 55 * static_cast<float>(i % 4);
    const float y = 80 + 300 * hash01(k, 11);
    const float h = 12 + 14 * hash01(k, 12);
    const int hue = static_cast<int>(hash01(k, 13) * 90);
    w.solids.push_back(box({-258, y, z + h}, {14, 10 + 12 * hash01(k, 14), h},
                           paint(110 + hue, 96 + hue / 3, 70 + (i * 37) % 60, 0.1F)));
  }
  const auto front = [&](Solid solid) {
    solid.front = true;
    w.solids.push_back(solid);
  };
  front(block({-330, 30, 96}, {330, 92, 102}, oak, 1.5F));
  front(block({-330, 36, 0}, {330, 86, 96}, dark_oak));
  front(box({-118, 58, 116}, {24, 18, 14}, paint(60, 62, 66, 0.3F), 2, 0.15F));
  front(box({-118, 72, 138}, {18, 3, 12}, paint(40, 42, 46, 0.3F), 1, 0.15F));
  front(ellipsoid({64, 60, 104}, {7, 7, 6}, paint(214, 178, 84, 0.7F)));
  front(cylinder({64, 60, 102.5F}, 8.5F, 0.8F, 2, paint(60, 44, 30, 0.3F)));
  front(box({128, 56, 112}, {26, 16, 10}, paint(176, 140, 94, 0.05F), 0.6F, -0.2F));
  front(cylinder({118, 54, 124}, 7, 3, 2, metal(0.5F)));
  front(cylinder({138, 60, 125}, 5, 4, 2, paint(170, 60, 44, 0.3F)));
  front(box({4, 56, 102.8F}, {20, 14, 0.8F}, paint(238, 232, 216, 0.05F), 0.1F, 0.12F));
  front(capsule({12, 50, 104}, {26, 58, 104}, 0.8F, paint(40, 60, 120, 0.3F)));
  furnish(w.solids);
  for (const float x : {-90.0F, 90.0F}) {
    w.solids.push_back(cylinder({x, 130, 262}, 0.8F, 40, 2, paint(40, 40, 40, 0.2F)));
    Solid shade = cylinder({x, 130, 222}, 17, 8, 2, paint(48, 92, 84, 0.4F), 4);
    shade.material.casts = false;
    w.solids.push_back(shade);
    w.solids.push_back(ellipsoid({x, 130, 212}, {8, 8, 6}, glowing({1, 0.86F, 0.62F}, 5)));
  }
  w.lamps = {{{-90, 130, 205}, {1.9F, 1.6F, 1.2F}, 12},
             {{90, 130, 205}, {1.9F, 1.6F, 1.2F}, 12},
             {{40, 330, 215}, {1.15F, 1.35F, 1.55F}, 40}};
  w.sky = {0.2F, 0.19F, 0.17F};
  w.ground = {0.14F, 0.12F, 0.1F};
  w.camera = {{-30, -105, 205}, {8, 200, 108}, 66};
  return w;
}

class Counter final : public Scene {
 public:
  Counter(std::uint64_t seed, Size size)
      : Scene(size), view_(shop_world().camera, size), visits_(seed, kPeriod, 24, 40) {
    const World world = shop_world();
    const Look look{.exposure = 0.95F, .tint = {1.02F, 1, 0.95F}, .bloom = 0.1F};
    const Film film = render(world, size);
    still_ = develop(film, look);
    front_ = cut_front(film);
    walker_ = Walker(world, {20, 140, 0}, size, look);
  }

  void paint(Canvas& canvas, SceneTime t) const override {
    canvas.restore(still_);
    const double s = static_cast<double>(t.count()) * 1e-6;
    Visit visit;
    double into = 0;
    if (!visits_.under_way(s, visit, into)) return;
    draw_door(canvas, into, visit.length);
    canvas.moving("visitor");
    const float edge = std::max(view_.project({-330, 92, 102}).y, view_.project({330, 92, 102}).y);
    canvas.hidden_below(static_cast<int>(edge) + 3);
    draw_visitor(canvas, visit, static_cast<float>(into));
    if (canvas.draws()) put_back_front(canvas);
  }

  std::vector<Motion> happenings(SceneTime until) const override {
    std::vector<Motion> all = visits_.motions(until, TruthKind::wanted, "visitor");
    for (const auto& [from, to] : {std::pair{0.0, kDoor}, std::pair{-kDoor, -0.0}}) {
      const std::vector<Motion> doors = visits_.motions(until, TruthKind::light, "door", from, to);
      all.insert(all.end(), doors.begin(), doors.end());
    }
    return all;
  }

 private:
  // The counter's own pixels with their coverage, so that it can be laid over the visitor again.
  static Sprite cut_front(const Film& film) {
    Sprite sprite{film.width, film.height, {}};
    sprite.texels.resize(film.front.size());
    for (std::size_t i = 0; i < film.front.size(); ++i)
      sprite.texels[i] = static_cast<std::uint8_t>(film.front[i] * 255);
    return sprite;
  }

  void put_back_front(Canvas& canvas) const {
    Picture& p = canvas.picture();
    for (std::size_t i = 0; i < p.y.size(); ++i) {
      const int a = front_.texels[i];
      if (a == 0) continue;
      p.y[i] = static_cast<std::uint8_t>(p.y[i] + (still_.y[i] - p.y[i]) * a / 255);
      const std::size_t k = i / 2;
      p.u[k] = static_cast<std::uint8_t>(p.u[k] + (still_.u[k] - p.u[k]) * a / 255);
      p.v[k] = static_cast<std::uint8_t>(p.v[k] + (still_.v[k] - p.v[k]) * a / 255);
    }
  }

  // Daylight falls in while the door stands open.
  void draw_door(Canvas& canvas, double into, double length) const {
    const auto open = [](double d) {
      return smooth(0, 0.7F, static_cast<float>(d)) * (1 - smooth(2, 3, static_cast<float>(d)));
    };
    const float wide = std::max(open(into), open(length - into));
    if (wide <= 0) return;
    canvas.moving("door");
    const Vec3 floor = view_.project({110, 350, 0});
    const float px = view_.scale(floor.z);
    canvas.glow({floor.x, floor.y}, 130 * px, 60 * px, ink(244, 248, 255), 0.5F * wide);
    const Vec3 a = view_.project({132, 424, 212});
    const Vec3 b = view_.project({178, 424, 4});
    const Point gap[] = {
        {b.x - (b.x - a.x) * wide, a.y}, {b.x, a.y}, {b.x, b.y}, {b.x - (b.x - a.x) * wide, b.y}};
    canvas.fill(gap, ink(240, 246, 252), 0.9F);
  }

  void draw_visitor(Canvas& canvas, const Visit& visit, float into) const {
    constexpr float kWalk = 5.5F;
    const auto length = static_cast<float>(visit.length);
    const float side = -70 + 140 * hash01(visit.dice, 1);
    const Vec3 door{125, 400, 0};
    const Vec3 stand{side, 140, 0};
    const bool leaving = into > length - kWalk;
    const float u = leaving ? (length - into) / kWalk : std::min(1.0F, into / kWalk);
    Vec3 at = mix(door, stand, u * u * (3 - 2 * u) * 0.6F + u * 0.4F);
    const bool walking = u < 1;
    // Weight goes from one foot to the other while waiting.
    if (!walking) at.x += 3 * std::sin(into * 0.8F) + 2 * (noise1(into * 0.5F, visit.dice) - 0.5F);
    const float fade = smooth(0, 0.08F, u);
    walker_.draw(canvas, view_, at, walking ? into * 1.9F : 0.5F, leaving, fade,
                 0.85F + 0.3F * hash01(visit.dice, 2));
  }

  Projection view_;
  Visits visits_;
  Picture still_;
  Sprite front_;
  Walker walker_;
};

}  // namespace

std::unique_ptr<Scene> make_counter(std::uint64_t seed, Size size) {
  return std::make_unique<Counter>(seed, size);
}

}  // namespace rookery::sim
