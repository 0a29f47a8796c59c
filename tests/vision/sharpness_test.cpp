#include "vision/sharpness.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

namespace rookery::vision {
namespace {

jpeg::LumaPlane plane_of(int width_px, int height_px, const auto& level) {
  jpeg::LumaPlane plane;
  plane.width_px = width_px;
  plane.height_px = height_px;
  for (int y = 0; y < height_px; ++y) {
    for (int x = 0; x < width_px; ++x)
      plane.pixels.push_back(static_cast<std::uint8_t>(std::lround(level(x, y))));
  }
  return plane;
}

// A Gaussian edge of σ px through the middle of the picture, `degrees` off the columns.
jpeg::LumaPlane gaussian_edge(double sigma_px, double degrees, int width_px = 160, int height_px = 128,
                              double dark = 60, double bright = 190) {
  const double angle = degrees * std::numbers::pi / 180;
  return plane_of(width_px, height_px, [&](int x, int y) {
    const double across = (x - width_px / 2.0) * std::cos(angle) - (y - height_px / 2.0) * std::sin(angle);
    return dark + (bright - dark) * 0.5 * std::erfc(-across / (sigma_px * std::numbers::sqrt2));
  });
}

TEST(LaplacianVariance, OfAUnitImpulseIs20Over9) {
  // Kernel 0 1 0 / 1 −4 1 / 0 1 0 over the 3×3 valid region: −4, four times 1, four times 0.
  const auto plane = plane_of(5, 5, [](int x, int y) { return x == 2 && y == 2 ? 1 : 0; });
  EXPECT_DOUBLE_EQ(compute_laplacian_variance(plane), 20.0 / 9);
}

TEST(LaplacianVariance, OfNothingIsNothing) {
  EXPECT_EQ(compute_laplacian_variance(plane_of(2, 9, [](int, int) { return 7; })), 0);
  EXPECT_EQ(compute_laplacian_variance(plane_of(9, 9, [](int, int) { return 7; })), 0);
  EXPECT_EQ(compute_laplacian_variance(plane_of(32, 32, [](int x, int) { return 3 * x; })), 0);
}

TEST(LaplacianVariance, FallsWithBlur) {
  double before = 1e9;
  for (const double sigma : {0.6, 1.0, 2.0, 4.0}) {
    const double now = compute_laplacian_variance(gaussian_edge(sigma, 5));
    EXPECT_LT(now, before) << sigma;
    before = now;
  }
}

// The modulation of a Gaussian of σ px is exp(−2π²σ²f²): a half at f = √(ln 2/2)/(πσ) = 0.1874/σ cycles a
// pixel.
TEST(SlantedEdge, MtfOfAGaussianEdgeIs1874OverSigma) {
  for (const double sigma : {0.5, 0.7, 1.0, 1.5, 2.0, 3.0}) {
    for (const double degrees : {4.0, 5.7, 8.0, 15.0, -7.0}) {
      const auto edge = measure_edge(gaussian_edge(sigma, degrees), {40, 40, 80, 48}, true);
      ASSERT_TRUE(edge) << sigma << " px, " << degrees << "°";
      EXPECT_NEAR(edge->mtf50_cycles_per_px, 0.1874 / sigma, 0.04 * 0.1874 / sigma)
          << sigma << " " << degrees;
      EXPECT_NEAR(edge->slant_degrees, std::abs(degrees), 0.3);
      EXPECT_NEAR(edge->contrast, 130, 5);
    }
  }
}

TEST(SlantedEdge, LiesEitherWayAndRisesEitherWay) {
  const auto upright = gaussian_edge(1.2, 6, 128, 128, 200, 50);
  const auto lying =
      plane_of(128, 128, [&](int x, int y) { return upright.row(x)[static_cast<std::size_t>(y)]; });
  const auto a = measure_edge(upright, {24, 24, 80, 80}, true);
  const auto b = measure_edge(lying, {24, 24, 80, 80}, false);
  ASSERT_TRUE(a && b);
  EXPECT_DOUBLE_EQ(a->mtf50_cycles_per_px, b->mtf50_cycles_per_px);
  EXPECT_FALSE(measure_edge(upright, {24, 24, 80, 80}, false));
}

TEST(SlantedEdge, IsFoundAnywhereInThePicture) {
  for (const double sigma : {0.8, 1.5, 2.5}) {
    const auto edge = find_slanted_edge(gaussian_edge(sigma, 5, 320, 240));
    ASSERT_TRUE(edge) << sigma;
    EXPECT_NEAR(edge->mtf50_cycles_per_px, 0.1874 / sigma, 0.08 * 0.1874 / sigma);
    EXPECT_TRUE(edge->upright);
  }
}

TEST(SlantedEdge, WhatIsNoneIsNotMeasured) {
  EXPECT_FALSE(find_slanted_edge(plane_of(320, 240, [](int, int) { return 128; })));
  EXPECT_FALSE(find_slanted_edge(plane_of(320, 240, [](int x, int) { return 40 + x / 2; })));  // a slope
  EXPECT_FALSE(find_slanted_edge(gaussian_edge(1, 0)));                      // not slanted: one phase only
  EXPECT_FALSE(find_slanted_edge(gaussian_edge(1, 5, 160, 128, 100, 120)));  // too little contrast
  EXPECT_FALSE(find_slanted_edge(gaussian_edge(1, 5, 160, 128, 0, 255)));    // cut off at both ends
  EXPECT_FALSE(find_slanted_edge(gaussian_edge(1, 40)));                     // neither upright nor lying
  EXPECT_FALSE(
      find_slanted_edge(plane_of(320, 240, [](int x, int y) { return (x * 7919 + y * 104729) % 200; })));
  EXPECT_FALSE(find_slanted_edge(plane_of(8, 8, [](int, int) { return 9; })));
}

}  // namespace
}  // namespace rookery::vision
