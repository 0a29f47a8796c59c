// What counts as motion in synthetic scenes: things do; noise, exposure, banding and coarse JPEG steps do
// not.
#include "vision/motion_energy.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace rookery::vision {
namespace {

constexpr int kWidth = 80;
constexpr int kHeight = 60;

// A still scene with contrast, seen through whatever the test puts in between.
struct View {
  double gain = 1;
  double offset = 0;
  double noise = 0;  // standard deviation, grey levels
  double band = 0;   // grey levels, amplitude
  double band_phase = 0;
  double quantum = 1;
  // A thing with a pattern of its own, `object_w`×`object_h` cells at (object_x, object_y).
  int object_x = 0, object_y = 0, object_w = 0, object_h = 0;
  double object_contrast = 40;
};

// Normally distributed, drawn once: drawing them anew for every cell takes most of the test's time.
const std::vector<float>& normal_numbers() {
  static const std::vector<float> numbers = [] {
    std::mt19937 random(99);
    std::normal_distribution<float> normal;
    std::vector<float> drawn(200'003);
    for (float& number : drawn) number = normal(random);
    return drawn;
  }();
  return numbers;
}

class Scene {
 public:
  explicit Scene(unsigned seed, int width = kWidth, int height = kHeight)
      : random_(seed), width_(width), height_(height) {
    const double a = uniform(3, 9), b = uniform(3, 9);
    for (int y = 0; y < height; ++y) {
      for (int x = 0; x < width; ++x) {
        ground_.push_back(110 + 40 * std::sin(x / a) * std::cos(y / b) + uniform(-15, 15));
      }
    }
  }

  jpeg::LumaGrid see(const View& view) {
    const std::vector<float>& noise = normal_numbers();
    auto next = random_() % noise.size();
    jpeg::LumaGrid grid;
    grid.width = width_;
    grid.height = height_;
    for (int y = 0; y < height_; ++y) {
      const double band = view.band * std::sin(y * 0.7 + view.band_phase);
      for (int x = 0; x < width_; ++x) {
        double grey = ground_[static_cast<std::size_t>(y * width_ + x)];
        const int ox = x - view.object_x, oy = y - view.object_y;
        if (ox >= 0 && oy >= 0 && ox < view.object_w && oy < view.object_h) {
          grey += view.object_contrast + ((ox + oy) % 3) * 4;
        }
        grey = view.gain * grey + view.offset + band + view.noise * noise[next++ % noise.size()];
        grey = 128 + view.quantum * std::round((grey - 128) / view.quantum);
        grid.cells.push_back(static_cast<std::uint8_t>(std::clamp(std::round(grey), 0.0, 255.0)));
      }
    }
    return grid;
  }

  double uniform(double least, double most) {
    return std::uniform_real_distribution<double>(least, most)(random_);
  }

 private:
  std::mt19937 random_;
  int width_, height_;
  std::vector<double> ground_;
};

// The largest energy over `many` views that `next` makes.
template <class Next>
int largest(Scene& scene, int many, Next next) {
  MotionEnergy energy;
  int most = 0;
  for (int i = 0; i < many; ++i) most = std::max<int>(most, energy.add(scene.see(next(i))));
  return most;
}

TEST(MotionEnergy, FirstGridAndChangeOfSizeAreNoMotion) {
  Scene large(1), small(2, 40, 30);
  MotionEnergy energy;
  EXPECT_EQ(energy.add(large.see({})), 0);
  EXPECT_EQ(energy.add(small.see({})), 0);
  EXPECT_EQ(energy.add(large.see({})), 0);
  EXPECT_EQ(energy.add(large.see({})), 0);
}

TEST(MotionEnergy, NoiseIsNoMotion) {
  for (const double noise : {0.0, 0.3, 1.0, 3.0, 8.0}) {
    Scene scene(3);
    EXPECT_LE(largest(scene, 200, [&](int) { return View{.noise = noise}; }), 4) << noise;
  }
}

TEST(MotionEnergy, NoiseThatRisesAtDuskIsNoMotion) {
  Scene scene(4);
  EXPECT_LE(largest(scene, 300, [](int i) { return View{.noise = 1.0 + 0.02 * i}; }), 4);
}

TEST(MotionEnergy, CoarseJpegStepsAreNoMotion) {
  for (const double quantum : {1.0, 2.0, 3.0, 5.0, 8.0}) {
    for (const double noise : {0.2, 0.5, 1.0, 3.0}) {
      Scene scene(5);
      const int most = largest(scene, 100, [&](int) { return View{.noise = noise, .quantum = quantum}; });
      EXPECT_LE(most, 4) << "steps of " << quantum << ", noise " << noise;
    }
  }
}

TEST(MotionEnergy, ExposureDriftIsNoMotion) {
  Scene scene(6);
  EXPECT_LE(largest(scene, 60, [](int i) { return View{.gain = 1 + 0.01 * i, .noise = 1}; }), 4);
  EXPECT_LE(
      largest(scene, 60, [](int i) { return View{.gain = 1.3 - 0.01 * i, .offset = 0.5 * i, .noise = 1}; }),
      4);
}

TEST(MotionEnergy, OneJumpOfExposureIsNoMotion) {
  Scene scene(7);
  EXPECT_LE(largest(scene, 20, [](int i) { return View{.gain = i < 10 ? 1 : 1.3, .noise = 1}; }), 4);
  EXPECT_LE(largest(scene, 20, [](int i) { return View{.offset = i < 10 ? 0.0 : -30, .noise = 1}; }), 4);
}

TEST(MotionEnergy, MainsBandingIsNoMotion) {
  Scene scene(8);
  EXPECT_LE(largest(scene, 100, [](int i) { return View{.noise = 1, .band = 5, .band_phase = 1.9 * i}; }), 4);
}

TEST(MotionEnergy, AThingOfHalfAPercentIsSeen) {
  for (const double noise : {0.0, 1.0, 3.0}) {
    Scene scene(9);
    MotionEnergy energy;
    for (int i = 0; i < 20; ++i) (void)energy.add(scene.see({.noise = noise}));
    // 24 of 4800 cells, 0.5 %: it reads as 36.
    const int appeared =
        energy.add(scene.see({.noise = noise, .object_x = 30, .object_y = 20, .object_w = 6, .object_h = 4}));
    EXPECT_GE(appeared, 25) << noise;
    EXPECT_LE(appeared, 45) << noise;
  }
}

TEST(MotionEnergy, AThingIsSeenWhileExposureDrifts) {
  Scene scene(10);
  MotionEnergy energy;
  for (int i = 0; i < 20; ++i) (void)energy.add(scene.see({.gain = 1 + 0.01 * i, .noise = 1}));
  EXPECT_GE(energy.add(scene.see(
                {.gain = 1.21, .noise = 1, .object_x = 30, .object_y = 20, .object_w = 6, .object_h = 4})),
            25);
}

TEST(MotionEnergy, SteadyMotionIsNotTakenForNoise) {
  Scene scene(11);
  MotionEnergy energy;
  int last = 0;
  for (int i = 0; i < 300; ++i) {
    last = energy.add(
        scene.see({.noise = 1, .object_x = (i % 2) * 30, .object_y = 10, .object_w = 20, .object_h = 20}));
  }
  // 400 cells leave, 400 others appear: 17 %.
  EXPECT_GE(last, 190);
  EXPECT_LE(last, 220);
}

TEST(MotionEnergy, AnotherSceneIsEverything) {
  for (unsigned seed = 20; seed < 30; ++seed) {
    Scene one(seed), other(seed + 100);
    MotionEnergy energy;
    for (int i = 0; i < 10; ++i) (void)energy.add(one.see({.noise = 1}));
    EXPECT_EQ(energy.add(other.see({.noise = 1})), 255) << seed;
  }
}

TEST(MotionEnergy, ACoveredLensIsNearlyEverything) {
  Scene scene(12);
  MotionEnergy energy;
  for (int i = 0; i < 10; ++i) (void)energy.add(scene.see({.noise = 1}));
  EXPECT_GE(energy.add(scene.see({.gain = 0, .offset = 5, .noise = 1})), 240);
}

TEST(MotionEnergy, ADamagedGridIsSkipped) {
  Scene scene(13);
  MotionEnergy energy;
  for (int i = 0; i < 10; ++i) (void)energy.add(scene.see({.noise = 1}));
  jpeg::LumaGrid grey = scene.see({.gain = 0, .offset = 128});
  grey.damaged = true;
  EXPECT_EQ(energy.add(grey), 0);
  EXPECT_LE(energy.add(scene.see({.noise = 1})), 4);
}

TEST(MotionEnergy, OddGridsAreTaken) {
  for (const auto& [width, height] : {std::pair{1, 1}, {3, 2}, {7, 5}, {200, 150}, {1, 60}, {80, 1}}) {
    Scene scene(14, width, height);
    MotionEnergy energy;
    for (int i = 0; i < 40; ++i) (void)energy.add(scene.see({.noise = 1, .quantum = 1}));
    EXPECT_LE(energy.add(scene.see({.noise = 1})), 4) << width << "x" << height;
  }
  MotionEnergy energy;
  EXPECT_EQ(energy.add({}), 0);
  jpeg::LumaGrid wrong;
  wrong.width = wrong.height = 4;
  wrong.cells = {1, 2, 3};
  EXPECT_EQ(energy.add(wrong), 0);
}

// The same scene and noise, things of growing size: the number never falls by more than what noise makes of
// it.
TEST(MotionEnergy, GrowsWithTheThing) {
  for (unsigned seed = 40; seed < 50; ++seed) {
    Scene shape(seed);
    const double contrast = (seed % 2 == 0 ? 1 : -1) * shape.uniform(15, 90);
    int before = 0;
    for (int size = 0; size <= 44; size += 2) {
      Scene scene(seed);  // the same noise each time
      MotionEnergy energy;
      for (int i = 0; i < 9; ++i) (void)energy.add(scene.see({.noise = 1}));
      const int now = energy.add(scene.see({.noise = 1,
                                            .object_x = 5,
                                            .object_y = 5,
                                            .object_w = size,
                                            .object_h = size,
                                            .object_contrast = contrast}));
      const double share = std::min(1.0, size * size / 4800.0 / 0.25);
      EXPECT_GE(now, before - 1) << "seed " << seed << ", size " << size << ", contrast " << contrast;
      EXPECT_NEAR(now, 255 * std::sqrt(share), 12)
          << "seed " << seed << ", size " << size << ", " << contrast;
      before = now;
    }
  }
}

}  // namespace
}  // namespace rookery::vision
