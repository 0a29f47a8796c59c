// Knocks are found to a part of a pixel and taken back; large ones are cut and said.
#include "vision/lapse_steady.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace rookery::vision {
namespace {

// A bench with things on it, at any place: sums of soft blobs and bars, the same for one seed.
class Scene {
 public:
  explicit Scene(unsigned seed) {
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> place(-60, 700);
    std::uniform_real_distribution<double> size(3, 25);
    std::uniform_real_distribution<double> level(-70, 70);
    for (int i = 0; i < 500; ++i)
      blobs_.push_back({place(random), place(random), size(random), level(random)});
  }
  jpeg::LumaPlane picture(int width, int height, double dx, double dy, unsigned seed,
                          double noise = 1.5) const {
    std::mt19937 random(seed);
    std::normal_distribution<double> normal(0, noise);
    std::vector<double> sum(static_cast<std::size_t>(width) * static_cast<std::size_t>(height), 110);
    for (const Blob& b : blobs_) {
      const double reach = 1.4 * b.size;
      const int top = std::max(0, static_cast<int>(b.y + dy - reach));
      const int bottom = std::min(height, static_cast<int>(b.y + dy + reach));
      const int left = std::max(0, static_cast<int>(b.x + dx - reach));
      const int right = std::min(width, static_cast<int>(b.x + dx + reach));
      for (int y = top; y < bottom; ++y) {
        for (int x = left; x < right; ++x) {
          const double across = (x - b.x - dx) / b.size;
          const double along = (y - b.y - dy) / b.size;
          // A disc with a soft edge.
          const double in = std::clamp(1.8 - across * across - along * along, 0.0, 1.0);
          sum[static_cast<std::size_t>(y * width + x)] += b.level * in * in * (3 - 2 * in);
        }
      }
    }
    jpeg::LumaPlane plane;
    plane.width_px = width;
    plane.height_px = height;
    for (const double value : sum)
      plane.pixels.push_back(
          static_cast<std::uint8_t>(std::clamp(std::round(value + normal(random)), 0.0, 255.0)));
    return plane;
  }

 private:
  struct Blob {
    double x, y, size, level;
  };
  std::vector<Blob> blobs_;
};

Steadier steadier(int width, int height, const SteadyOptions& options = {}) {
  auto made = Steadier::make(width, height, {}, 0, 0, options);
  EXPECT_TRUE(made);
  return std::move(made.value());
}

TEST(Steadier, AWholeShiftIsFound) {
  std::mt19937 random(2);
  for (int run = 0; run < 20; ++run) {
    const Scene scene(static_cast<unsigned>(random()));
    const int dx = static_cast<int>(random() % 25) - 12;
    const int dy = static_cast<int>(random() % 19) - 9;
    Steadier s = steadier(320, 240);
    ASSERT_TRUE(s.add(scene.picture(320, 240, 0, 0, 1), 0));
    ASSERT_TRUE(s.add(scene.picture(320, 240, dx, dy, 2), 1));
    const SteadyPlan plan = s.finish();
    EXPECT_TRUE(plan.cuts.empty());
    EXPECT_GT(plan.frames[1].peak, 0.2);
    EXPECT_NEAR(plan.frames[1].dx_px, dx, 0.15);
    EXPECT_NEAR(plan.frames[1].dy_px, dy, 0.15);
  }
}

TEST(Steadier, APartOfAPixelIsFound) {
  const Scene scene(4);
  for (const int width : {320, 640}) {
    const int height = width * 3 / 4;
    for (const double by : {0.5, 0.75, 1.25, 3.6, -2.4}) {
      Steadier s = steadier(width, height);
      ASSERT_TRUE(s.add(scene.picture(width, height, 0, 0, 1), 0));
      ASSERT_TRUE(s.add(scene.picture(width, height, by, -by / 2, 2), 1));
      const SteadyPlan plan = s.finish();
      EXPECT_NEAR(plan.frames[1].dx_px, by, 0.12) << width;
      EXPECT_NEAR(plan.frames[1].dy_px, -by / 2, 0.12) << width;
    }
  }
}

TEST(Steadier, NoiseMovesNothing) {
  const Scene scene(5);
  Steadier s = steadier(320, 240);
  for (unsigned i = 0; i < 10; ++i) ASSERT_TRUE(s.add(scene.picture(320, 240, 0, 0, i, 3), i));
  for (const SteadyFrame& frame : s.finish().frames) {
    EXPECT_EQ(frame.dx_px, 0);
    EXPECT_EQ(frame.dy_px, 0);
  }
}

TEST(Steadier, AKnockThatStaysIsTakenBackFromThereOn) {
  const Scene scene(6);
  Steadier s = steadier(320, 240);
  for (unsigned i = 0; i < 12; ++i)
    ASSERT_TRUE(s.add(scene.picture(320, 240, i < 5 ? 0 : 4, i < 5 ? 0 : -3, i), i));
  const SteadyPlan plan = s.finish();
  EXPECT_TRUE(plan.cuts.empty());
  for (std::size_t i = 0; i < 12; ++i) {
    EXPECT_NEAR(plan.frames[i].dx_px, i < 5 ? 0 : 4, 0.1) << i;
    EXPECT_NEAR(plan.frames[i].dy_px, i < 5 ? 0 : -3, 0.1) << i;
  }
}

TEST(Steadier, ALargeKnockIsCutAndSaid) {
  const Scene scene(7);
  Steadier s = steadier(320, 240);
  for (unsigned i = 0; i < 8; ++i) ASSERT_TRUE(s.add(scene.picture(320, 240, i < 4 ? 0 : 30, 0, i), 100 + i));
  const SteadyPlan plan = s.finish();
  ASSERT_EQ(plan.cuts.size(), 1U);
  EXPECT_EQ(plan.cuts[0].frame, 4U);
  EXPECT_EQ(plan.cuts[0].at_s, 104);
  EXPECT_EQ(plan.cuts[0].why,
            "the camera was moved: the picture lies 30 px from where it was, 9 % of its width");
  for (const SteadyFrame& frame : plan.frames) EXPECT_EQ(frame.dx_px, 0);
}

TEST(Steadier, AnotherViewIsCutWhereItBegan) {
  const Scene one(8);
  const Scene other(9);
  Steadier s = steadier(320, 240);
  for (unsigned i = 0; i < 9; ++i)
    ASSERT_TRUE(s.add((i < 4 ? one : other).picture(320, 240, i < 4 ? 0 : 0, 0, i), i));
  const SteadyPlan plan = s.finish();
  ASSERT_EQ(plan.cuts.size(), 1U);
  EXPECT_EQ(plan.cuts[0].frame, 4U);
  EXPECT_EQ(plan.cuts[0].why, "another view: nothing in the picture lies where it was");
}

TEST(Steadier, WhatPassesBeforeTheLensCutsNothing) {
  const Scene scene(10);
  const Scene hand(11);
  Steadier s = steadier(320, 240);
  for (unsigned i = 0; i < 9; ++i) {
    const bool covered = i == 4 || i == 5;
    ASSERT_TRUE(s.add((covered ? hand : scene).picture(320, 240, i < 3 ? 0 : 2, 0, i), i));
  }
  const SteadyPlan plan = s.finish();
  EXPECT_TRUE(plan.cuts.empty());
  EXPECT_NEAR(plan.frames[4].dx_px, 2, 0.1);  // that of before
  EXPECT_LT(plan.frames[4].peak, 0.2);
  EXPECT_NEAR(plan.frames[8].dx_px, 2, 0.1);
}

// Half of the picture is the work, and moves the other way.
TEST(Steadier, HoldsOnToWhatIsStill) {
  const Scene scene(12);
  const Scene work(13);
  std::vector<std::uint8_t> still;
  for (int i = 0; i < 40 * 30; ++i) still.push_back(i % 40 < 20 ? 0 : 1);
  auto s = Steadier::make(320, 240, still, 40, 30);
  ASSERT_TRUE(s);
  for (unsigned i = 0; i < 6; ++i) {
    auto picture = scene.picture(320, 240, i == 3 ? 3 : 0, 0, i);
    const auto other = work.picture(320, 240, -2.0 * i, 0, i);
    for (std::size_t p = 0; p < picture.pixels.size(); ++p) {
      if (p % 320 < 160) picture.pixels[p] = other.pixels[p];
    }
    ASSERT_TRUE(s->add(picture, i));
  }
  const SteadyPlan plan = s->finish();
  EXPECT_TRUE(plan.cuts.empty());
  for (std::size_t i = 0; i < 6; ++i) EXPECT_NEAR(plan.frames[i].dx_px, i == 3 ? 3 : 0, 0.2) << i;
}

// A lamp goes off, the lens is covered: nothing tells that the camera was moved.
TEST(Steadier, DarknessCutsNothing) {
  const Scene scene(14);
  jpeg::LumaPlane dark = scene.picture(320, 240, 0, 0, 1);
  std::ranges::fill(dark.pixels, std::uint8_t{3});
  Steadier s = steadier(320, 240);
  for (unsigned i = 0; i < 12; ++i)
    ASSERT_TRUE(s.add(i >= 3 && i < 9 ? dark : scene.picture(320, 240, i < 3 ? 0 : 2, 0, i), i));
  const SteadyPlan plan = s.finish();
  EXPECT_TRUE(plan.cuts.empty());
  EXPECT_NEAR(plan.frames[11].dx_px, 2, 0.1);
}

TEST(Steadier, AnEmptyPictureIsNoShift) {
  jpeg::LumaPlane grey;
  grey.width_px = 64;
  grey.height_px = 48;
  grey.pixels.assign(64 * 48, 90);
  Steadier s = steadier(64, 48);
  for (int i = 0; i < 5; ++i) ASSERT_TRUE(s.add(grey, i));
  const SteadyPlan plan = s.finish();
  EXPECT_TRUE(plan.cuts.empty());
  for (const SteadyFrame& frame : plan.frames) EXPECT_EQ(frame.dx_px, 0);
}

TEST(Steadier, RefusesInWords) {
  const auto says = [](int width, int height, std::vector<std::uint8_t> still, SteadyOptions o = {}) {
    const auto made = Steadier::make(width, height, still, 2, 5, o);
    return made ? std::string() : made.error().detail;
  };
  EXPECT_EQ(says(63, 48, {}), "a picture of 63×48 pixels: give 64×48 to 4096×4096");
  EXPECT_EQ(says(64, 5000, {}), "a picture of 64×5000 pixels: give 64×48 to 4096×4096");
  EXPECT_EQ(says(64, 48, {1, 1}), "2 cells for 2×5");
  EXPECT_EQ(says(64, 48, std::vector<std::uint8_t>(10, 0)),
            "less than a tenth of the picture is still: there is nothing to hold on to");
  EXPECT_EQ(
      says(64, 48, {}, {.most_share = 0.5}),
      "shifts from 0.3 px with a peak of 0.2 to a share of 0.5: give 0 to 8, 0.05 to 1, above 0 to 0.25");
  EXPECT_NE(says(64, 48, {}, {.least_px = std::nan("")}), "");
  Steadier s = steadier(64, 48);
  const auto added = s.add({.width_px = 80, .height_px = 60, .pixels = std::vector<std::uint8_t>(4800)}, 0);
  ASSERT_FALSE(added);
  EXPECT_EQ(added.error().detail, "a frame of 80×60 pixels among such of 64×48");
  EXPECT_TRUE(s.finish().frames.empty());
}

TEST(ShiftPlane, MovesByWholeAndPartPixels) {
  std::vector<std::uint8_t> from(8 * 6);
  for (std::size_t i = 0; i < from.size(); ++i) from[i] = static_cast<std::uint8_t>(i * 5);
  std::vector<std::uint8_t> to(from.size());
  const PlaneView a{from.data(), 8, 6, 8};
  const PlaneView b{to.data(), 8, 6, 8};
  shift_plane(a, 0, 0, b);
  EXPECT_EQ(to, from);
  shift_plane(a, 2, 1, b);
  EXPECT_EQ(b.row(3)[5], a.row(2)[3]);
  EXPECT_EQ(b.row(0)[0], a.row(0)[0]);  // the border again
  shift_plane(a, -0.5, 0, b);
  EXPECT_EQ(b.row(2)[3], (a.row(2)[3] + a.row(2)[4] + 1) / 2);
  shift_plane(a, 1e12, -1e12, b);
  EXPECT_EQ(b.row(2)[3], a.row(5)[0]);
}

}  // namespace
}  // namespace rookery::vision
