// A camera that was turned a little is turned back, to a tenth of a degree; one turned further is told.
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "vision/lapse_steady.h"

namespace rookery::vision {
namespace {

// Soft discs, drawn where they lie after the knock: not resampled.
class Bench {
 public:
  explicit Bench(unsigned seed) {
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> place(-450, 450);
    std::uniform_real_distribution<double> size(5, 25);
    std::uniform_real_distribution<double> level(-70, 70);
    for (int i = 0; i < 500; ++i)
      discs_.push_back({place(random), place(random), size(random), level(random)});
  }
  jpeg::LumaPlane picture(int width, int height, double dx, double dy, double turn_deg, unsigned seed,
                          double light = 1) const {
    std::mt19937 random(seed);
    std::normal_distribution<double> normal(0, 1.5);
    std::vector<double> sum(static_cast<std::size_t>(width) * static_cast<std::size_t>(height), 110);
    const double c = std::cos(turn_deg * std::numbers::pi / 180);
    const double s = std::sin(turn_deg * std::numbers::pi / 180);
    for (const Disc& d : discs_) {
      const double mx = 0.5 * (width - 1) + c * d.x - s * d.y + dx;
      const double my = 0.5 * (height - 1) + s * d.x + c * d.y + dy;
      for (int y = std::max(0, static_cast<int>(my - d.size)); y < std::min<double>(height, my + d.size);
           ++y) {
        for (int x = std::max(0, static_cast<int>(mx - d.size)); x < std::min<double>(width, mx + d.size);
             ++x) {
          const double r = std::hypot(x - mx, y - my) / d.size;
          const double in = std::clamp(1.5 * (1 - r), 0.0, 1.0);
          sum[static_cast<std::size_t>(y * width + x)] += d.level * in * in * (3 - 2 * in);
        }
      }
    }
    jpeg::LumaPlane plane;
    plane.width_px = width;
    plane.height_px = height;
    for (const double value : sum)
      plane.pixels.push_back(
          static_cast<std::uint8_t>(std::clamp(std::round(light * value + normal(random)), 0.0, 255.0)));
    return plane;
  }

 private:
  struct Disc {
    double x, y, size, level;
  };
  std::vector<Disc> discs_;
};

SteadyPlan plan_of(const std::vector<jpeg::LumaPlane>& frames, const SteadyOptions& options = {}) {
  auto made = Steadier::make(frames.front().width_px, frames.front().height_px, {}, 0, 0, options);
  EXPECT_TRUE(made);
  for (std::size_t i = 0; i < frames.size(); ++i)
    EXPECT_TRUE(made.value().add(frames[i], static_cast<double>(i)));
  return made.value().finish();
}

TEST(SteadierTurn, AKnownTurnComesBackToATenthOfADegree) {
  std::mt19937 random(11);
  std::uniform_real_distribution<double> turn(-2.9, 2.9);
  std::uniform_real_distribution<double> share(-0.04, 0.04);
  for (int run = 0; run < 40; ++run) {
    const int width = run % 2 == 0 ? 640 : 320;
    const int height = width * 3 / 4;
    const Bench bench(static_cast<unsigned>(random()));
    const double by_deg = turn(random);
    const double dx = share(random) * width;
    const double dy = share(random) * height;
    const auto plan = plan_of({bench.picture(width, height, 0, 0, 0, 1),
                               bench.picture(width, height, dx, dy, by_deg, 2, run % 3 == 0 ? 0.85 : 1)});
    SCOPED_TRACE(testing::Message() << "run " << run << ": " << by_deg << "° " << dx << ' ' << dy);
    EXPECT_TRUE(plan.cuts.empty());
    EXPECT_NEAR(plan.frames[1].turn_deg, by_deg, 0.1);
    EXPECT_NEAR(plan.frames[1].dx_px, dx, 0.4);
    EXPECT_NEAR(plan.frames[1].dy_px, dy, 0.4);
  }
}

TEST(SteadierTurn, WhatWasNotTurnedIsNotTurnedBack) {
  std::mt19937 random(12);
  for (int run = 0; run < 20; ++run) {
    const Bench bench(static_cast<unsigned>(random()));
    const double dx = static_cast<double>(random() % 17) - 8;
    const auto plan = plan_of({bench.picture(320, 240, 0, 0, 0, 1), bench.picture(320, 240, dx, 3, 0, 2)});
    EXPECT_EQ(plan.frames[1].turn_deg, 0);
    EXPECT_NEAR(plan.frames[1].dx_px, dx, 0.15);
  }
}

TEST(SteadierTurn, AFurtherTurnIsCutAndTold) {
  for (const double by_deg : {4.5, -5.5}) {
    const Bench bench(3);
    std::vector<jpeg::LumaPlane> frames;
    for (unsigned i = 0; i < 8; ++i) frames.push_back(bench.picture(320, 240, 0, 0, i < 4 ? 0 : by_deg, i));
    const auto plan = plan_of(frames);
    ASSERT_EQ(plan.cuts.size(), 1u);
    EXPECT_EQ(plan.cuts[0].frame, 4u);
    EXPECT_NE(plan.cuts[0].why.find("turned by"), std::string::npos) << plan.cuts[0].why;
    for (const auto& frame : plan.frames) EXPECT_EQ(frame.turn_deg, 0);
  }
}

TEST(SteadierTurn, TurnedAndTurnedBackAgainNothingIsLeftOver) {
  const Bench bench(4);
  std::vector<jpeg::LumaPlane> frames;
  for (unsigned i = 0; i < 9; ++i) frames.push_back(bench.picture(640, 480, 0, 0, i / 3 == 1 ? 1.7 : 0, i));
  const auto plan = plan_of(frames);
  EXPECT_TRUE(plan.cuts.empty());
  for (std::size_t i = 0; i < 9; ++i) EXPECT_NEAR(plan.frames[i].turn_deg, i / 3 == 1 ? 1.7 : 0, 0.1) << i;
}

TEST(SteadierTurn, TakenBackAPictureLiesWhereItLay) {
  const Bench bench(5);
  auto still = bench.picture(320, 240, 0, 0, 0, 1);
  auto knocked = bench.picture(320, 240, 4, -3, 2.2, 2);
  auto back = knocked;
  const auto view = [](jpeg::LumaPlane& p) {
    return PlaneView{p.pixels.data(), p.width_px, p.height_px, p.width_px};
  };
  take_back(view(knocked), 4, -3, 2.2, view(back));
  const auto unlike = [&](const jpeg::LumaPlane& a) {
    double sum = 0;
    for (int y = 20; y < 220; ++y)
      for (int x = 20; x < 300; ++x)
        sum += std::abs(a.row(y)[static_cast<std::size_t>(x)] - still.row(y)[static_cast<std::size_t>(x)]);
    return sum / (280 * 200);
  };
  EXPECT_GT(unlike(knocked), 4);
  EXPECT_LT(unlike(back), 2);
}

TEST(SteadierTurn, NumbersThatCannotBeMeantAreRefused) {
  for (const auto& [least, most] :
       {std::pair{-0.1, 3.0}, {2.0, 3.0}, {0.1, -1.0}, {0.1, 11.0}, {std::nan(""), 3.0}}) {
    SteadyOptions options;
    options.least_turn_deg = least;
    options.most_turn_deg = most;
    EXPECT_FALSE(Steadier::make(320, 240, {}, 0, 0, options));
  }
}

}  // namespace
}  // namespace rookery::vision
