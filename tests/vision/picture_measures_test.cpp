// Noise, clipping, settling, lone pixels, frozen pictures, the hint which way up.
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "vision/exposure.h"
#include "vision/lone_pixels.h"
#include "vision/noise.h"
#include "vision/same_picture.h"

namespace rookery::vision {
namespace {

using std::chrono::milliseconds;

jpeg::LumaPlane noisy(double sigma, double level, unsigned seed, int width_px = 320, int height_px = 240) {
  std::mt19937 random(seed);
  std::normal_distribution<double> normal(0, std::max(sigma, 1e-9));
  jpeg::LumaPlane plane;
  plane.width_px = width_px;
  plane.height_px = height_px;
  for (int i = 0; i < width_px * height_px; ++i) {
    const double value = level + 0.1 * (i % width_px) + normal(random);
    plane.pixels.push_back(static_cast<std::uint8_t>(std::clamp(std::lround(value), 0L, 255L)));
  }
  return plane;
}

jpeg::LumaGrid grid_of(int width, int height, const auto& level) {
  jpeg::LumaGrid grid;
  grid.width = width;
  grid.height = height;
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) grid.cells.push_back(static_cast<std::uint8_t>(level(x, y)));
  }
  return grid;
}

TEST(Noise, IsTheDeviationThatWasPutIn) {
  for (const double sigma : {1.0, 2.0, 4.0, 9.0, 15.0}) {
    const auto noise = compute_noise(noisy(sigma, 90, 5));
    ASSERT_TRUE(noise);
    // Rounding to whole levels adds 1/12 to the variance.
    EXPECT_NEAR(*noise, std::sqrt(sigma * sigma + 1.0 / 12), 0.05 * sigma + 0.05) << sigma;
  }
}

TEST(Noise, TextureInHalfOfThePictureDoesNotCount) {
  auto plane = noisy(3, 90, 7);
  for (int y = 0; y < plane.height_px; ++y) {
    for (int x = 0; x < plane.width_px / 2; ++x) {
      auto& pixel = plane.pixels[static_cast<std::size_t>(y * plane.width_px + x)];
      pixel = static_cast<std::uint8_t>(std::clamp(pixel + ((x / 5 + y / 7) % 2 == 0 ? 50 : -30), 0, 255));
    }
  }
  EXPECT_NEAR(compute_noise(plane).value(), 3, 0.3);
}

TEST(Noise, OfBlackOrWhiteIsNotMeasured) {
  EXPECT_FALSE(compute_noise(noisy(0, 0, 1, 64, 64)));
  EXPECT_FALSE(compute_noise(noisy(0, 255, 1, 64, 64)));
  EXPECT_FALSE(compute_noise(noisy(0, 100, 1, 8, 8)));
}

TEST(Clipping, CountsCellsAtTheEndsOfTheScale) {
  const auto clipping = compute_clipping(grid_of(10, 10, [](int x, int) {
    return x < 2 ? 7 : x < 5 ? 251 : 100;
  }));
  EXPECT_DOUBLE_EQ(clipping.dark, 0.2);
  EXPECT_DOUBLE_EQ(clipping.bright, 0.3);
  EXPECT_DOUBLE_EQ(clipping.mean, 0.2 * 7 + 0.3 * 251 + 0.5 * 100);
  const auto none = compute_clipping(grid_of(4, 4, [](int x, int) { return x < 2 ? 8 : 250; }));
  EXPECT_EQ(none.dark + none.bright, 0);
}

std::vector<LevelAt> ramp(double tau_s, double end, double step_s = 0.1, double length_s = 12) {
  std::vector<LevelAt> levels;
  for (double t = 0; t < length_s; t += step_s)
    levels.push_back({std::chrono::duration<double>(t), end * (1 - 0.75 * std::exp(-t / tau_s))});
  return levels;
}

TEST(Settling, IsWhenTheLevelStaysWithinFivePercent) {
  // 0.75·exp(−t/τ) = 0.05 at t = 2.708 τ.
  EXPECT_NEAR(settled_after(ramp(0.9, 120)).value().count(), 2.708 * 0.9, 0.11);
  EXPECT_NEAR(settled_after(ramp(0.3, 120)).value().count(), 2.708 * 0.3, 0.11);
  EXPECT_EQ(settled_after(ramp(1e-6, 120, 0.1, 3)).value().count(), 0.1);
}

TEST(Settling, IsNotSaidWithoutPicturesOrWithoutAnEnd) {
  const auto whole = ramp(1, 120);
  EXPECT_FALSE(settled_after(std::span(whole).first(9)));
  std::vector<LevelAt> swinging;
  for (int i = 0; i < 100; ++i)
    swinging.push_back({std::chrono::duration<double>(i * 0.1), i % 2 == 0 ? 60.0 : 140.0});
  EXPECT_FALSE(settled_after(swinging));
}

TEST(UprightHint, ComesFromLightBelow) {
  const auto above = grid_of(8, 9, [](int, int y) { return y < 3 ? 180 : 80; });
  const auto below = grid_of(8, 9, [](int, int y) { return y < 6 ? 80 : 180; });
  const auto even = grid_of(8, 9, [](int, int y) { return y < 6 ? 100 : 140; });
  EXPECT_FALSE(hint_upright(above).may_be_upside_down);
  EXPECT_TRUE(hint_upright(below).may_be_upside_down);
  EXPECT_FALSE(hint_upright(even).may_be_upside_down);
  EXPECT_FALSE(hint_upright(grid_of(3, 2, [](int, int) { return 9; })).may_be_upside_down);
}

TEST(LonePixels, StandOutInEveryPicture) {
  LonePixels lone;
  for (unsigned i = 0; i < 8; ++i) {
    auto plane = noisy(3, 60, i);
    const auto at = [&](int x, int y) -> std::uint8_t& {
      return plane.pixels[static_cast<std::size_t>(y * plane.width_px + x)];
    };
    at(100, 50) = 255;
    at(7, 200) = 250;
    at(200, 20) = 0;
    if (i == 3) at(30, 30) = 255;     // once only: a spark
    at(50, 100) = at(51, 100) = 255;  // two side by side: a thing that is seen
    if (i < LonePixels::kFewest - 1) {
      lone.add(plane);
      EXPECT_EQ(lone.hot(), 0U);
      continue;
    }
    lone.add(plane);
    EXPECT_EQ(lone.hot(), 2U) << i;
    EXPECT_EQ(lone.dead(), 1U) << i;
  }
}

TEST(LonePixels, AmongDetailNoneIsTold) {
  LonePixels lone;
  for (unsigned i = 0; i < 8; ++i) {
    auto plane = noisy(2, 60, i);
    for (int y = 0; y < plane.height_px; ++y) {
      for (int x = 0; x < plane.width_px; ++x) {
        const unsigned speck = static_cast<unsigned>(x * 7919 + y * 104729) % 97;  // the same each time
        plane.pixels[static_cast<std::size_t>(y * plane.width_px + x)] += static_cast<std::uint8_t>(speck);
      }
    }
    lone.add(plane);
  }
  EXPECT_EQ(lone.hot() + lone.dead(), 0U);
}

TEST(LonePixels, AnotherSizeBeginsAnew) {
  LonePixels lone;
  for (unsigned i = 0; i < 6; ++i) lone.add(noisy(1, 60, i));
  lone.add(noisy(1, 60, 9, 160, 120));
  EXPECT_EQ(lone.pictures(), 1U);
}

TEST(SamePicture, IsFrozenAfterThreePicturesAndTwoSeconds) {
  const base::MonoTime start{std::chrono::hours(1)};
  SamePicture same;
  same.add(1, start);
  same.add(1, start + milliseconds(900));
  same.add(1, start + milliseconds(1900));
  EXPECT_EQ(same.times(), 0);
  same.add(1, start + milliseconds(2000));
  same.add(1, start + milliseconds(3500));
  EXPECT_EQ(same.times(), 1);
  EXPECT_DOUBLE_EQ(same.longest().count(), 3.5);
  same.add(2, start + milliseconds(3600));
  same.add(1, start + milliseconds(3700));
  EXPECT_EQ(same.times(), 1);
  same.add(1, start + milliseconds(9000));  // two pictures only: a slow board
  EXPECT_EQ(same.times(), 1);
}

}  // namespace
}  // namespace rookery::vision
