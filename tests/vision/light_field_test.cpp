// Light without edges is followed; a thing has no say in it.
#include "vision/light_field.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <random>

namespace rookery::vision {
namespace {

constexpr int kWidth = 80;
constexpr int kHeight = 60;
constexpr std::size_t kCells = static_cast<std::size_t>(kWidth) * kHeight;

// A ground with structure, and a field on it.
class Lit {
 public:
  Lit() {
    std::mt19937 random(1);
    std::uniform_real_distribution<float> grey(40, 140);
    for (float& cell : ground_) cell = grey(random);
    field_.begin(kWidth, kHeight);
  }
  // Follows one picture in which each cell is `light` (of u and v, −1 to 1) times as bright as the ground.
  void see(const auto& light, double thing_share = 0) {
    std::vector<std::uint8_t> now(kCells);
    std::vector<float> expected(kCells);
    std::vector<float> factors(kWidth);
    for (int y = 0; y < kHeight; ++y) {
      field_.row(y, factors);
      for (int x = 0; x < kWidth; ++x) {
        const auto i = static_cast<std::size_t>(y * kWidth + x);
        expected[i] = factors[static_cast<std::size_t>(x)] * ground_[i];
        const double lit = light(2.0 * x / (kWidth - 1) - 1, 2.0 * y / (kHeight - 1) - 1) * ground_[i];
        const bool is_thing = x < thing_share * kWidth;
        now[i] = static_cast<std::uint8_t>(std::clamp(is_thing ? 230.0 : std::round(lit), 0.0, 255.0));
      }
    }
    field_.follow(expected, now);
  }
  // The largest deviation from `light`.
  double off(const auto& light) const {
    double most = 0;
    std::vector<float> factors(kWidth);
    for (int y = 0; y < kHeight; ++y) {
      field_.row(y, factors);
      for (int x = 0; x < kWidth; ++x) {
        most = std::max(most, std::abs(static_cast<double>(factors[static_cast<std::size_t>(x)]) -
                                       light(2.0 * x / (kWidth - 1) - 1, 2.0 * y / (kHeight - 1) - 1)));
      }
    }
    return most;
  }

 private:
  std::vector<float> ground_ = std::vector<float>(kCells);
  LightField field_;
};

// The exposure has the constant, so each of these has no mean.
RC_GTEST_PROP(LightFieldTest, ASurfaceThatComesSlowlyIsFollowed, ()) {
  std::array<double, 4> terms{};
  for (double& term : terms) term = 0.01 * *rc::gen::inRange(-8, 9);
  const auto light = [&](double u, double v) {
    return 1 + terms[0] * u + terms[1] * v + terms[2] * u * v + terms[3] * u * u * u;
  };
  Lit lit;
  for (int i = 1; i <= 60; ++i) {
    const double part = std::min(1.0, i / 30.0);
    lit.see([&](double u, double v) { return 1 + part * (light(u, v) - 1); });
  }
  RC_ASSERT(lit.off(light) < 0.02);
}

TEST(LightFieldTest, AThingAtTheSideHasNoSay) {
  Lit lit;
  const auto even = [](double, double) { return 1.0; };
  for (int i = 0; i < 100; ++i) lit.see(even, 0.2);
  EXPECT_LT(lit.off(even), 0.06);  // at the very side, under the thing
}

TEST(LightFieldTest, ItIsBounded) {
  Lit lit;
  const auto steep = [](double u, double) { return u > 0 ? 1.7 : 0.1; };
  for (int i = 0; i < 200; ++i) lit.see(steep);
  EXPECT_LE(lit.off([](double, double) { return 1.0; }), 0.61);
}

}  // namespace
}  // namespace rookery::vision
