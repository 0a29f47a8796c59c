// A shelf of seedlings under a lamp with a timer: they grow, sway in the fan's wind, the lamp goes off and
// on.
#include "sim/scene_parts.h"

namespace rookery::sim {
namespace {

constexpr double kLampOn = 150;  // a day of the timer, shortened so that a person sees it switch
constexpr double kLampOff = 40;
constexpr double kSwitch = 0.6;  // seconds that its tubes take
constexpr double kRaise = 1500;  // from sowing to planting out, seconds
constexpr double kPlanting = 1;  // the trays are changed
constexpr int kPlants = 21;

struct Plant {
  Vec3 foot;
  float vigour = 1;
  float phase = 0;
  int kind = 0;
};

World shelf_world(bool lit) {
  World w;
  const Material pine = paint(196, 156, 108, 0.1F, Finish::wood);
  const Material post = paint(172, 134, 90, 0.1F, Finish::planks);
  w.solids = {block({-160, 62, -60}, {160, 66, 120}, paint(176, 186, 170, 0.03F, Finish::plaster)),
              block({-66, 6, -3}, {66, 52, 0}, pine),
              block({-66, 14, 62}, {66, 52, 65}, pine),
              block({-70, 8, -60}, {-65, 13, 120}, post),
              block({65, 8, -60}, {70, 13, 120}, post),
              block({-70, 46, -60}, {-65, 51, 120}, post),
              block({65, 46, -60}, {70, 51, 120}, post),
              block({-66, 6, -60}, {66, 52, -52}, pine)};
  const Material tray = paint(44, 46, 48, 0.25F);
  const Material soil = paint(70, 48, 34, 0.02F, Finish::soil);
  for (const float x : {-43.0F, 0.0F, 43.0F}) {
    w.solids.push_back(block({x - 19, 14, 0}, {x + 19, 15, 7}, tray));
    w.solids.push_back(block({x - 19, 43, 0}, {x + 19, 44, 7}, tray));
    w.solids.push_back(block({x - 19, 14, 0}, {x - 18, 44, 7}, tray));
    w.solids.push_back(block({x + 18, 14, 0}, {x + 19, 44, 7}, tray));
    w.solids.push_back(block({x - 18, 15, 0}, {x + 18, 43, 5.8F}, soil));
    w.solids.push_back(box({x + 14, 13.2F, 8}, {2, 0.25F, 4}, paint(236, 228, 206, 0.1F), 0.1F, 0.1F));
  }
  w.solids.push_back(block({-56, 24, 57}, {56, 34, 60.5F}, paint(210, 212, 214, 0.4F)));
  const Vec3 lamp_colour = lit ? Vec3{1, 0.93F, 0.98F} : Vec3{0.04F, 0.04F, 0.045F};
  w.solids.push_back(block({-54, 25.5F, 56}, {54, 32.5F, 57}, glowing(lamp_colour, lit ? 5.0F : 1.0F)));
  w.solids.push_back(box({-48, 26, 71}, {10, 8, 6}, paint(150, 84, 62, 0.1F)));
  w.solids.push_back(cylinder({-24, 28, 72}, 6, 7, 2, paint(184, 98, 62, 0.1F), 0.6F));
  w.solids.push_back(cylinder({-9, 30, 71}, 5, 6, 2, paint(184, 98, 62, 0.1F), 0.6F));
  w.solids.push_back(cylinder({28, 28, 73}, 8, 8, 2, paint(70, 108, 118, 0.4F), 1));
  w.solids.push_back(capsule({35, 28, 70}, {48, 26, 80}, 1.1F, paint(70, 108, 118, 0.4F)));
  w.solids.push_back(box({61, 20, 30}, {2.2F, 3, 4}, paint(232, 230, 222, 0.2F)));  // the timer on its post
  w.solids.push_back(cylinder({61, 16.8F, 30.6F}, 1.8F, 0.4F, 1, paint(200, 70, 50, 0.2F)));
  if (lit) {
    w.lamps = {{{-26, 24, 54}, {0.13F, 0.122F, 0.128F}, 10},
               {{26, 24, 54}, {0.13F, 0.122F, 0.128F}, 10},
               {{-150, -120, 120}, {0.5F, 0.55F, 0.6F}, 30}};
    w.sky = {0.1F, 0.11F, 0.12F};
    w.ground = {0.1F, 0.09F, 0.07F};
  } else {
    w.lamps = {{{-150, -120, 120}, {0.42F, 0.52F, 0.72F}, 30}};
    w.sky = {0.035F, 0.045F, 0.07F};
    w.ground = {0.02F, 0.02F, 0.025F};
  }
  w.camera = {{-12, -92, 58}, {0, 34, 24}, 52};
  return w;
}

class Seedlings final : public Scene {
 public:
  Seedlings(std::uint64_t seed, Size size)
      : Scene(size), seed_(static_cast<std::uint32_t>(seed)), view_(shelf_world(true).camera, size) {
    lit_ = develop(render(shelf_world(true), size),
                   {.exposure = 1.0F, .tint = {1, 0.99F, 1.0F}, .bloom = 0.14F});
    dark_ = develop(render(shelf_world(false), size), {.exposure = 1.0F, .tint = {0.95F, 1, 1.05F}});
    for (int i = 0; i < kPlants; ++i) {
      const int tray = i / 7;
      const int slot = i % 7;
      const bool back = slot < 4;
      const float x =
          -43 + 43 * static_cast<float>(tray) +
          (back ? -13 + 8.6F * static_cast<float>(slot) : -9 + 9.0F * static_cast<float>(slot - 4));
      const auto k = static_cast<std::uint32_t>(i);
      plants_.push_back(Plant{{x + 2 * hash01(seed_, k), back ? 36.0F : 22.0F, 5.8F},
                              0.75F + 0.5F * hash01(seed_, k + 50),
                              6 * hash01(seed_, k + 99),
                              tray});
    }
    std::stable_sort(plants_.begin(), plants_.end(),
                     [](const Plant& a, const Plant& b) { return a.foot.y > b.foot.y; });
  }

  void paint(Canvas& canvas, SceneTime t) const override {
    const double s = static_cast<double>(t.count()) * 1e-6;
    const float lamp = lamp_at(s);
    canvas.restore_mixed(dark_, lit_, lamp);
    canvas.moving("lamp");
    if (lamp > 0 && lamp < 1) canvas.note({0, 0, size().width, size().height});
    const double age = std::fmod(s + already(), kRaise);
    // For a moment the young plants are not what stood there.
    canvas.moving(age < kPlanting && s > kPlanting ? "planting out" : "leaves");
    for (const Plant& plant : plants_) {
      const float growth = static_cast<float>(age / kRaise) * plant.vigour;
      draw_plant(canvas, plant, growth, static_cast<float>(s), lamp);
    }
  }

  std::vector<Motion> happenings(SceneTime until) const override {
    // The fan never stops.
    std::vector<Motion> all{Motion{SceneTime{}, until, TruthKind::ambient, "leaves", {}}};
    const double last = static_cast<double>(until.count()) * 1e-6;
    const auto times = [&](double first, double every) {
      return static_cast<int>(std::ceil(std::max(0.0, last - first) / every));
    };
    const double first_raise = kRaise - already();
    for (int n = 0; n < times(first_raise, kRaise); ++n) {
      const double s = first_raise + n * kRaise;
      all.push_back(
          Motion{scene_seconds(s), scene_seconds(s + kPlanting), TruthKind::job, "planting out", {}});
    }
    for (int n = 0; n < times(0, kLampOn + kLampOff); ++n) {
      const double s = n * (kLampOn + kLampOff);
      const double on = s + kLampOn + kLampOff;
      all.push_back(Motion{
          scene_seconds(s + kLampOn), scene_seconds(s + kLampOn + kSwitch), TruthKind::light, "lamp", {}});
      all.push_back(Motion{scene_seconds(on), scene_seconds(on + kSwitch), TruthKind::light, "lamp", {}});
    }
    return all;
  }

  std::optional<JobTruth> job_at(SceneTime t) const override {
    const double raised = (static_cast<double>(t.count()) * 1e-6 + already()) / kRaise;
    return JobTruth{.number = static_cast<std::int64_t>(raised), .grown = raised - std::floor(raised)};
  }

  float noise(SceneTime t) const override {
    return 4.0F - 2.4F * lamp_at(static_cast<double>(t.count()) * 1e-6);
  }

 private:
  // How old the first plants are, seconds.
  double already() const { return kRaise * (0.3 + 0.3 * static_cast<double>(hash01(seed_, 7))); }

  static float lamp_at(double s) {
    const double in = std::fmod(s, kLampOn + kLampOff);
    if (s >= kLampOn + kLampOff && in < kSwitch)
      return smooth(0, static_cast<float>(kSwitch), static_cast<float>(in));
    return 1 - smooth(0, static_cast<float>(kSwitch), static_cast<float>(in - kLampOn));
  }

  void draw_plant(Canvas& canvas, const Plant& plant, float growth, float s, float lamp) const;
  void draw_leaf(Canvas& canvas, Point root, float angle, float length, float width, Ink colour) const;

  std::uint32_t seed_;
  Projection view_;
  Picture lit_;
  Picture dark_;
  std::vector<Plant> plants_;
};

void Seedlings::draw_leaf(Canvas& canvas, Point root, float angle, float length, float width,
                          Ink colour) const {
  const float c = std::cos(angle);
  const float n = std::sin(angle);
  const auto at = [&](float along, float across, float droop) {
    return Point{root.x + (along * c - across * n) * length,
                 root.y + (along * n + across * c) * length + droop * length};
  };
  const float w = width;
  const Point outline[] = {
      at(0, 0, 0),     at(0.22F, w * 0.7F, 0.01F), at(0.5F, w, 0.05F),  at(0.8F, w * 0.6F, 0.13F),
      at(1, 0, 0.22F), at(0.8F, -w * 0.6F, 0.13F), at(0.5F, -w, 0.05F), at(0.22F, -w * 0.7F, 0.01F)};
  canvas.fill(outline, colour, 0.97F, -1.1F);
  const Point light[] = {outline[0], outline[4], outline[5], outline[6], outline[7]};
  canvas.fill(c >= 0 ? std::span<const Point>(light) : std::span<const Point>(outline, 5),
              scaled(colour, 1.22F), 0.75F, -0.8F);
  canvas.line(outline[0], at(0.9F, 0, 0.17F), 0.7F, scaled(colour, 1.45F), 0.5F);
}

void Seedlings::draw_plant(Canvas& canvas, const Plant& plant, float growth, float s, float lamp) const {
  const Vec3 foot = view_.project(plant.foot);
  const float px = view_.scale(foot.z);
  const float height = (3 + 21 * std::pow(growth, 0.8F)) * px;
  const float wind = 0.06F * std::sin(s * 1.3F + plant.phase) + 0.09F * (noise1(s * 0.45F, 5) - 0.5F) +
                     0.03F * std::sin(s * 3.1F + plant.phase * 2);
  const float shade = mix(0.22F, plant.foot.y > 30 ? 0.86F : 1.0F, lamp);
  const Ink greens[3] = {ink(96, 152, 58), ink(70, 134, 66), ink(132, 164, 70)};
  const Ink leaf = scaled(greens[plant.kind], shade);
  canvas.shadow({foot.x, foot.y}, (2 + 6 * growth) * px, (0.8F + 2.2F * growth) * px, 0.5F * lamp);
  const auto stem_at = [&](float u) { return Point{foot.x + wind * height * u * u, foot.y - height * u}; };
  for (int i = 0; i < 6; ++i)
    canvas.line(stem_at(static_cast<float>(i) / 6), stem_at(static_cast<float>(i + 1) / 6),
                std::max(1.0F, 0.42F * px), scaled(leaf, 0.85F));
  const int pairs = 1 + static_cast<int>(growth * 4.4F);
  for (int i = 0; i < pairs; ++i) {
    const float u = pairs == 1 ? 1.0F : 0.35F + 0.65F * static_cast<float>(i) / static_cast<float>(pairs - 1);
    const float young = clamp01(growth * 4.4F - static_cast<float>(i) + 0.3F);
    const float length = (2.0F + 6.5F * growth * (1.1F - 0.5F * u)) * px * (0.35F + 0.65F * young);
    const float flutter = 0.05F * std::sin(s * 2.3F + plant.phase + static_cast<float>(i) * 1.9F) + wind;
    const float lift = 0.45F + 0.25F * u + 0.1F * std::sin(plant.phase + static_cast<float>(i));
    const float wide = plant.kind == 0 ? 0.27F : plant.kind == 1 ? 0.34F : 0.17F;
    draw_leaf(canvas, stem_at(u), -lift + flutter, length, wide, scaled(leaf, 0.92F + 0.2F * u));
    draw_leaf(canvas, stem_at(u), -3.14159F + lift + flutter, length * 0.95F, wide,
              scaled(leaf, 0.86F + 0.2F * u));
  }
  if (plant.kind == 2 && growth > 0.62F) {
    const Point top = stem_at(1);
    canvas.disc({top.x, top.y - px}, 1.6F * px, 1.4F * px, scaled(ink(226, 190, 70), shade));
  }
}

}  // namespace

std::unique_ptr<Scene> make_seedlings(std::uint64_t seed, Size size) {
  return std::make_unique<Seedlings>(seed, size);
}

}  // namespace rookery::sim
