// The back door by night: a lamp on the wall, moths about it, a fox on its round, somebody who looks out.
#include "sim/scene_parts.h"

namespace rookery::sim {
namespace {

constexpr Vec3 kLamp{0, 74, 244};
constexpr int kMoths = 9;
constexpr float kDoor = 1.2F;  // seconds that the door takes to open or to close

World yard_world(bool open) {
  World w;
  const Material bricks = paint(142, 82, 62, 0.04F, Finish::brick);
  const Material stone = paint(150, 146, 138, 0.08F, Finish::concrete);
  const Material frame = paint(210, 204, 188, 0.15F);
  w.solids = {block({-600, -400, -6}, {600, 110, 0}, paint(120, 118, 116, 0.22F, Finish::asphalt)),
              block({-600, 100, 0}, {-52, 130, 480}, bricks),
              block({52, 100, 0}, {600, 130, 480}, bricks),
              block({-52, 100, 212}, {52, 130, 480}, bricks),
              block({-52, 96, 0}, {-45, 112, 212}, frame),
              block({45, 96, 0}, {52, 112, 212}, frame),
              block({-52, 96, 205}, {52, 112, 213}, frame),
              block({-66, 56, 0}, {66, 100, 12}, stone, 1),
              block({-50, 70, 12}, {50, 98, 13.5F}, paint(78, 60, 44, 0.02F, Finish::soil)),
              block({-62, 84, 219}, {62, 102, 226}, stone, 1)};
  if (open) {
    w.solids.push_back(block({-45, 160, 0}, {45, 164, 205}, glowing({1.0F, 0.74F, 0.42F}, 1.6F)));
    w.solids.push_back(block({-45, 108, 0}, {-42, 160, 205}, paint(214, 190, 150, 0.1F)));
    w.solids.push_back(block({-47, 36, 13}, {-43, 104, 204}, paint(58, 96, 84, 0.2F, Finish::planks)));
  } else {
    w.solids.push_back(block({-45, 102, 13}, {45, 110, 205}, paint(58, 96, 84, 0.2F, Finish::planks)));
    w.solids.push_back(block({-34, 100.5F, 130}, {34, 103, 190}, paint(20, 26, 32, 0.7F)));
    w.solids.push_back(block({-2, 100, 130}, {2, 103, 190}, paint(58, 96, 84, 0.2F)));
    w.solids.push_back(capsule({36, 98, 106}, {36, 98, 116}, 2.2F, metal(0.7F)));
  }
  w.solids.push_back(cylinder({0, 92, 250}, 3, 9, 1, paint(40, 42, 44, 0.3F)));
  Solid hood = cylinder({0, 74, 252}, 15, 3.5F, 2, paint(44, 70, 64, 0.3F), 2);
  hood.material.casts = false;
  w.solids.push_back(hood);
  w.solids.push_back(ellipsoid({0, 74, 244}, {7, 7, 6}, glowing({1, 0.8F, 0.5F}, 7)));
  // Bins to the right, crates and a pot to the left, a drainpipe.
  for (const float x : {128.0F, 196.0F}) {
    w.solids.push_back(block({x - 28, 30, 6}, {x + 28, 90, 98}, paint(52, 70, 60, 0.25F), 4));
    w.solids.push_back(block({x - 31, 26, 98}, {x + 31, 93, 106}, paint(42, 58, 50, 0.3F), 3));
  }
  w.solids.push_back(box({-138, 66, 24}, {38, 26, 24}, paint(150, 112, 70, 0.05F, Finish::wood), 1, 0.12F));
  w.solids.push_back(box({-142, 68, 66}, {30, 22, 18}, paint(140, 104, 66, 0.05F, Finish::wood), 1, -0.2F));
  w.solids.push_back(cylinder({-84, 76, 18}, 15, 18, 2, paint(166, 92, 60, 0.1F), 2));
  for (int i = 0; i < 9; ++i) {
    const auto k = static_cast<std::uint32_t>(i);
    w.solids.push_back(
        ellipsoid({-84 + 24 * (hash01(k, 1) - 0.5F), 76 + 16 * (hash01(k, 2) - 0.5F), 42 + 26 * hash01(k, 3)},
                  {9, 8, 10}, paint(58, 92, 50, 0.05F)));
  }
  w.solids.push_back(cylinder({258, 94, 240}, 6, 240, 2, paint(60, 62, 64, 0.3F)));
  w.lamps = {{kLamp + Vec3{0, -34, -12}, {1.15F, 0.86F, 0.52F}, 5},
             {{-500, -500, 700}, {2.2F, 3.0F, 4.8F}, 60}};
  if (open) w.lamps.push_back({{0, 40, 120}, {1.5F, 1.0F, 0.55F}, 30});
  w.sky = {0.012F, 0.016F, 0.026F};
  w.ground = {0.012F, 0.01F, 0.008F};
  w.camera = {{-90, -330, 190}, {12, 100, 136}, 58};
  return w;
}

// Standing at `at`, walking to the right; its legs at `phase`.
std::vector<Solid> fox(Vec3 at, float phase) {
  const Material coat = paint(186, 98, 46, 0.05F);
  const Material white = paint(222, 212, 196, 0.05F);
  const Material dark = paint(52, 36, 30, 0.05F);
  const auto p = [&](float x, float y, float z) { return at + Vec3{x, y, z}; };
  const float a = 9 * std::sin(phase);
  const float b = 9 * std::cos(phase);
  const float tail = 3 * std::sin(phase * 0.5F);
  return {capsule(p(-20, 0, 31), p(18, 0, 32), 8.5F, coat),
          ellipsoid(p(17, 0, 31), {10, 8, 10}, coat),
          capsule(p(22, 0, 36), p(32, 0, 42), 5.5F, coat),
          ellipsoid(p(36, 0, 43), {8, 6.5F, 6.5F}, coat),
          capsule(p(40, 0, 41), p(48, 0, 39), 2.6F, coat),
          ellipsoid(p(39, -2, 39.5F), {6, 4.5F, 3.5F}, white),
          capsule(p(33, -3.5F, 47), p(32, -4, 53), 2.3F, dark),
          capsule(p(34, 3.5F, 47), p(33, 4, 53), 2.3F, dark),
          capsule(p(14, -4, 27), p(14 + a, -4, 4), 3, dark),
          capsule(p(17, 4, 27), p(17 - a, 4, 4), 3, dark),
          capsule(p(-17, -4, 27), p(-18 + b, -4, 4), 3.2F, dark),
          capsule(p(-19, 4, 27), p(-20 - b, 4, 4), 3.2F, dark),
          capsule(p(-26, 0, 31), p(-44, 0, 22 + tail), 6, coat),
          capsule(p(-44, 0, 22 + tail), p(-56, 0, 20 + tail * 1.6F), 6.5F, coat),
          ellipsoid(p(-60, 0, 20 + tail * 1.8F), {6, 5, 5}, white)};
}

// Where two pictures of one size are not alike, as one box.
Region differing(const Picture& a, const Picture& b) {
  int left = a.size.width;
  int top = a.size.height;
  int right = 0;
  int bottom = 0;
  for (int y = 0; y < a.size.height; ++y) {
    for (int x = 0; x < a.size.width; ++x) {
      const auto i = static_cast<std::size_t>(y * a.size.width + x);
      if (std::abs(a.y[i] - b.y[i]) < 4) continue;
      left = std::min(left, x);
      right = std::max(right, x + 1);
      top = std::min(top, y);
      bottom = std::max(bottom, y + 1);
    }
  }
  return {left, top, std::max(0, right - left), std::max(0, bottom - top)};
}

class BackDoor final : public Scene {
 public:
  BackDoor(std::uint64_t seed, Size size)
      : Scene(size),
        seed_(static_cast<std::uint32_t>(seed)),
        view_(yard_world(false).camera, size),
        foxes_(seed, 75, 13, 17),
        people_(seed + 5, 100, 12, 16) {
    const World shut = yard_world(false);
    const Look look{.exposure = 1.15F, .tint = {1.0F, 0.98F, 0.97F}, .vignette = 0.35F, .bloom = 0.16F};
    shut_ = develop(render(shut, size), look);
    open_ = develop(render(yard_world(true), size), look);
    lit_ = differing(shut_, open_);
    World near = shut;
    near.lamps[1].colour = near.lamps[1].colour * 1.6F;
    for (int i = 0; i < 6; ++i)
      fox_.emplace_back(near, fox({0, -20, 0}, static_cast<float>(i) * 6.2831853F / 6), Vec3{0, -20, 0}, size,
                        look);
    walker_ = Walker(yard_world(true), {0, 84, 13}, size, look);
  }

  void paint(Canvas& canvas, SceneTime t) const override {
    const double s = static_cast<double>(t.count()) * 1e-6;
    Visit visit;
    double into = 0;
    if (people_.under_way(s, visit, into)) {
      const float ajar = smooth(0, kDoor, static_cast<float>(into)) *
                         smooth(0, kDoor, static_cast<float>(visit.length - into));
      canvas.restore_mixed(shut_, open_, ajar);
      canvas.moving("door");
      if (ajar > 0 && ajar < 1) canvas.note(lit_);
      canvas.moving("person");
      const float out =
          smooth(1, 3, static_cast<float>(into)) * smooth(1, 3, static_cast<float>(visit.length - into));
      if (ajar > 0.3F)
        walker_.draw(canvas, view_, {4, 150 - 64 * out, 13}, out < 1 ? static_cast<float>(into) * 1.6F : 0.5F,
                     false, smooth(0.3F, 0.8F, ajar), 0.9F);
    } else {
      canvas.restore(shut_);
    }
    canvas.moving("fox");
    if (foxes_.under_way(s, visit, into)) draw_fox(canvas, visit, static_cast<float>(into));
    canvas.moving("moths");
    for (int i = 0; i < kMoths; ++i) draw_moth(canvas, i, static_cast<float>(s));
  }

  std::vector<Motion> happenings(SceneTime until) const override {
    std::vector<Motion> all = foxes_.motions(until, TruthKind::wanted, "fox");
    const auto add = [&](const std::vector<Motion>& more) {
      all.insert(all.end(), more.begin(), more.end());
    };
    add(people_.motions(until, TruthKind::wanted, "person"));
    add(people_.motions(until, TruthKind::light, "door", 0, kDoor));
    add(people_.motions(until, TruthKind::light, "door", -kDoor));
    // Moths never rest: small motion about the lamp all the time.
    all.push_back(Motion{SceneTime{}, until, TruthKind::ambient, "moths", {}});
    return all;
  }

  float noise(SceneTime) const override { return 4.2F; }

 private:
  void draw_fox(Canvas& canvas, const Visit& visit, float into) const {
    const bool left = (visit.dice & 1) != 0;
    const float u = into / static_cast<float>(visit.length);
    // It stops for a moment under the lamp and looks.
    const float way = u < 0.45F ? u / 0.45F * 0.5F : u < 0.6F ? 0.5F : 0.5F + (u - 0.6F) / 0.4F * 0.5F;
    const float x = (left ? 1.0F : -1.0F) * (360 - 720 * way);
    const Vec3 at{x, 30 - 25 * hash01(visit.dice, 4), 0};
    const Vec3 foot = view_.project(at);
    const float px = view_.scale(foot.z);
    canvas.shadow({foot.x, foot.y}, 48 * px, 9 * px, 0.6F);
    const int step = u >= 0.45F && u < 0.6F ? 0 : static_cast<int>(into * 11) % 6;
    const float light = 0.35F + 0.9F * std::exp(-x * x / (170 * 170));
    fox_[static_cast<std::size_t>(step)].draw_scaled(canvas, view_, at, 1, light, left);
  }

  void draw_moth(Canvas& canvas, int i, float s) const {
    const auto k = static_cast<std::uint32_t>(i);
    const auto place = [&](float t) {
      const float speed = 1.7F + 2.2F * hash01(seed_, k * 8 + 1);
      const float ring =
          16 + 62 * hash01(seed_, k * 8 + 2) * (0.55F + 0.45F * std::sin(t * 0.31F + static_cast<float>(i)));
      const float a = t * speed + 6.28F * hash01(seed_, k * 8 + 3) + 1.4F * noise1(t * 1.9F, k + 900);
      return kLamp + Vec3{ring * std::cos(a) + 14 * (noise1(t * 3.1F, k + 300) - 0.5F),
                          -22 + ring * 0.6F * std::sin(a),
                          -14 + ring * 0.55F * std::sin(a * 1.37F + static_cast<float>(i)) +
                              12 * (noise1(t * 4.3F, k + 600) - 0.5F)};
    };
    const Vec3 here = place(s);
    const Vec3 now = view_.project(here);
    const Vec3 before = view_.project(place(s - 0.035F));
    const float far = length(here - kLamp);
    const float bright = clamp01(1.25F - far / 110);
    const float beat = 0.6F + 0.4F * std::fabs(std::sin(s * 31 + static_cast<float>(i)));
    const float px = view_.scale(now.z);
    const Ink pale = scaled(ink(255, 226, 172), 0.35F + 0.65F * bright);
    canvas.line({before.x, before.y}, {now.x, now.y}, (1.6F + 2.2F * beat) * px, pale, 0.35F + 0.4F * bright);
    canvas.disc({now.x, now.y}, std::max(1.2F, 2.4F * px * beat), std::max(1.0F, 1.7F * px), pale,
                0.55F + 0.45F * bright);
  }

  std::uint32_t seed_;
  Projection view_;
  Visits foxes_;
  Visits people_;
  Picture shut_;
  Picture open_;
  Region lit_;  // what the open door changes
  std::vector<Mover> fox_;
  Walker walker_;
};

}  // namespace

std::unique_ptr<Scene> make_back_door(std::uint64_t seed, Size size) {
  return std::make_unique<BackDoor>(seed, size);
}

}  // namespace rookery::sim
