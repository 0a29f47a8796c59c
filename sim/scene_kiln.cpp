// The kiln room: the spy-hole glows, air shimmers, the display climbs.
#include "sim/scene_parts.h"

namespace rookery::sim {
namespace {

constexpr Vec3 kSpy{-8, 19, 64};
constexpr double kFiring = 900;  // seconds from cold to hot, shortened

World kiln_world() {
  World w;
  const Material wall = paint(168, 160, 148, 0.04F, Finish::brick);
  const Material steel = metal(0.5F);
  const Material dark = paint(40, 40, 42, 0.25F);
  w.solids = {block({-300, -260, -5}, {300, 160, 0}, paint(128, 122, 114, 0.12F, Finish::concrete)),
              block({-300, 140, 0}, {300, 160, 330}, wall),
              block({-310, -260, 0}, {-190, 160, 330}, paint(150, 142, 130, 0.03F, Finish::plaster)),
              cylinder({-8, 60, 55}, 42, 38, 2, steel, 1),
              cylinder({-8, 60, 97}, 43.5F, 5, 2, paint(190, 186, 178, 0.2F), 2.5F),
              capsule({-8, 18, 103}, {-8, 30, 104}, 2, dark)};
  for (const float z : {24.0F, 44.0F, 82.0F})
    w.solids.push_back(cylinder({-8, 60, z}, 42.7F, 2, 2, paint(92, 94, 98, 0.5F), 0.6F));
  for (const float a : {-0.9F, 0.9F, 2.3F, -2.3F})
    w.solids.push_back(capsule({-8 + 34 * std::sin(a), 60 - 34 * std::cos(a), 18},
                               {-8 + 38 * std::sin(a), 60 - 38 * std::cos(a), 0}, 3, dark));
  w.solids.push_back(cylinder(kSpy, 5.2F, 2.5F, 1, paint(214, 200, 176, 0.1F), 1));
  w.solids.push_back(cylinder(kSpy + Vec3{0, -1.2F, 0}, 3.1F, 1.6F, 1, glowing({1, 0.34F, 0.07F}, 6), 0.2F));
  w.solids.push_back(block({-46, 8, 26}, {-34, 24, 74}, paint(58, 60, 64, 0.3F), 1.5F));  // the switch box
  w.solids.push_back(block({74, 132, 118}, {122, 142, 176}, paint(206, 202, 190, 0.25F), 2));
  w.solids.push_back(block({80, 131, 150}, {116, 133, 168}, paint(16, 12, 12, 0.6F), 0.4F));
  for (const float x : {86.0F, 98.0F, 110.0F})
    w.solids.push_back(cylinder({x, 131, 132}, 3.4F, 1.5F, 1, paint(60, 60, 64, 0.3F)));
  w.solids.push_back(capsule({98, 137, 118}, {98, 137, 40}, 2, dark));
  w.solids.push_back(capsule({98, 137, 40}, {40, 110, 12}, 2, dark));
  // A rack with pots: glazed, bisque, drying.
  const Material rack = paint(134, 100, 66, 0.1F, Finish::wood);
  for (const float z : {34.0F, 92.0F, 148.0F})
    w.solids.push_back(block({-182, 74, z}, {-78, 126, z + 4}, rack));
  for (const float x : {-182.0F, -82.0F})
    w.solids.push_back(block({x, 74, 0}, {x + 4, 126, 206}, paint(120, 90, 60, 0.1F, Finish::planks)));
  const Material glazes[] = {paint(62, 104, 122, 0.5F), paint(196, 168, 128, 0.08F), paint(158, 78, 52, 0.1F),
                             paint(214, 206, 190, 0.4F), paint(84, 112, 82, 0.5F)};
  for (int i = 0; i < 12; ++i) {
    const auto k = static_cast<std::uint32_t>(i);
    const int shelf = i / 4;
    const float z = 38 + 57 * static_cast<float>(shelf);
    const float x = -166 + 25 * static_cast<float>(i % 4);
    const Material& glaze = glazes[hash32(k, 3) % 5];
    const float r = 8 + 3 * hash01(k, 4);
    w.solids.push_back(ellipsoid({x, 98, z + r * 1.1F}, {r, r, r * 1.15F}, glaze));
    w.solids.push_back(cylinder({x, 98, z + r * 2.2F}, r * 0.5F, r * 0.35F, 2, glaze, 0.5F));
  }
  for (int i = 0; i < 7; ++i)
    w.solids.push_back(
        box({96 + 3 * hash01(static_cast<std::uint32_t>(i), 8), 74, 5 + 9.4F * static_cast<float>(i)},
            {24, 12, 4.6F}, paint(224, 206, 170, 0.05F), 0.8F,
            0.25F * (hash01(static_cast<std::uint32_t>(i), 9) - 0.5F)));
  w.solids.push_back(capsule({84, 66, 74}, {106, 70, 75}, 5, paint(180, 130, 70, 0.05F)));
  w.solids.push_back(cylinder({150, 40, 22}, 20, 22, 2, paint(70, 84, 96, 0.3F), 1.5F));
  w.solids.push_back(block({-60, 96, 262}, {90, 108, 268}, glowing({0.85F, 0.93F, 1}, 2.2F)));
  w.lamps = {{{15, 60, 258}, {3.0F, 3.1F, 3.2F}, 30}, {kSpy + Vec3{0, -16, -2}, {0.1F, 0.03F, 0.006F}, 5}};
  w.sky = {0.1F, 0.11F, 0.13F};
  w.ground = {0.09F, 0.07F, 0.05F};
  w.camera = {{34, -215, 138}, {-12, 60, 84}, 56};
  return w;
}

class Kiln final : public Scene {
 public:
  Kiln(std::uint64_t seed, Size size)
      : Scene(size), seed_(static_cast<std::uint32_t>(seed)), view_(kiln_world().camera, size) {
    still_ = develop(render(kiln_world(), size),
                     {.exposure = 0.95F, .tint = {1.04F, 0.99F, 0.92F}, .vignette = 0.35F, .bloom = 0.14F});
  }

  void paint(Canvas& canvas, SceneTime t) const override {
    const double at = static_cast<double>(t.count()) * 1e-6;
    const auto s = static_cast<float>(at);
    const float heat = heat_at(at);
    canvas.restore(still_);
    canvas.moving("glow");
    const Vec3 spy = view_.project(kSpy + Vec3{0, -2.5F, 0});
    const float px = view_.scale(spy.z);
    const float flicker = 0.85F + 0.1F * noise1(s * 7, seed_) + 0.06F * std::sin(s * 13.7F);
    const Ink hot = ink(255, static_cast<int>(110 + 90 * heat), static_cast<int>(30 + 60 * heat));
    canvas.glow({spy.x, spy.y}, 34 * px, 34 * px, scaled(hot, 0.95F), 0.12F * heat * flicker);
    canvas.glow({spy.x, spy.y}, 9 * px, 9 * px, hot, 0.6F * heat * flicker);
    canvas.disc({spy.x, spy.y}, 3.1F * px, 3.1F * px,
                scaled(ink(255, 214, 120), 0.55F + 0.45F * heat * flicker));
    const Vec3 floor = view_.project({-20, -40, 0});
    canvas.glow({floor.x, floor.y}, 120 * px, 36 * px, ink(255, 128, 60), 0.2F * heat * flicker);
    // A glowing seam under the lid.
    for (int i = 0; i < 12; ++i) {
      const float a = -1.1F + 0.2F * static_cast<float>(i);
      const Vec3 p = view_.project({-8 + 42.6F * std::sin(a), 60 - 42.6F * std::cos(a), 92.5F});
      const Vec3 q = view_.project({-8 + 42.6F * std::sin(a + 0.2F), 60 - 42.6F * std::cos(a + 0.2F), 92.5F});
      canvas.line({p.x, p.y}, {q.x, q.y}, 1.1F * px, ink(255, 150, 60),
                  0.55F * heat * (0.7F + 0.3F * noise1(s * 5 + a * 3, seed_ + 1)));
    }
    canvas.moving("display");
    draw_display(canvas, at);
    canvas.moving("hot air");
    const Vec3 lid = view_.project({-8, 60, 104});
    const int w = static_cast<int>(110 * px);
    const int h = static_cast<int>(120 * px);
    const Region air{static_cast<int>(lid.x) - w / 2, static_cast<int>(lid.y) - h, w, h};
    canvas.sway(air, 1.3F * heat * px, s * 6.5F, 17 * px, false);
  }

  // The air over the kiln, its glow and the digits of its display never rest.
  std::vector<Motion> happenings(SceneTime until) const override {
    std::vector<Motion> all;
    for (const std::string_view what : {"glow", "display", "hot air"})
      all.push_back(Motion{SceneTime{}, until, TruthKind::ambient, what, {}});
    return all;
  }

  float noise(SceneTime) const override { return 2.4F; }

  std::optional<JobTruth> job_at(SceneTime t) const override {
    const double fired = static_cast<double>(t.count()) * 1e-6 / kFiring + 0.2;
    return JobTruth{.number = static_cast<std::int64_t>(fired), .grown = fired - std::floor(fired)};
  }

 private:
  float heat_at(double s) const {
    return 0.45F + 0.55F * smooth(0, 1, static_cast<float>(std::fmod(s / kFiring + 0.2, 1.0)));
  }

  void draw_display(Canvas& canvas, double s) const {
    const int degrees = 640 + static_cast<int>(620 * std::fmod(s / kFiring + 0.2, 1.0));
    const Vec3 at = view_.project({83, 130.5F, 166});
    const float px = view_.scale(at.z);
    const std::string text = fmt::format("{}C", degrees);
    canvas.glow({at.x + 15 * px, at.y + 7 * px}, 26 * px, 15 * px, ink(255, 60, 40), 0.25F);
    canvas.text({at.x + 1.5F * px, at.y + 3.5F * px}, 7.2F * px, text, ink(255, 92, 66));
  }

  std::uint32_t seed_;
  Projection view_;
  Picture still_;
};

}  // namespace

std::unique_ptr<Scene> make_kiln(std::uint64_t seed, Size size) { return std::make_unique<Kiln>(seed, size); }

}  // namespace rookery::sim
