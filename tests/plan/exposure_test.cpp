#include "plan/exposure.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

namespace rookery::plan {
namespace {

// Computed from the formulas (so they check the arithmetic): REFERENCE 11.
TEST(Exposure, TheUsualSensorsFullPicture) {
  const auto readout = usual_readout(1600, 1200);
  ASSERT_TRUE(readout);
  EXPECT_NEAR(readout->line().value(), 53.42e-6, 0.005e-6);
  EXPECT_NEAR(readout->picture().value(), 64.1e-3, 0.05e-3);
  EXPECT_NEAR(readout->bands(50_Hz), 6.41, 0.005);
  EXPECT_NEAR(readout->bands(60_Hz), 7.69, 0.005);
  EXPECT_NEAR(readout->lines_exposed(10_ms), 187.2, 0.05);
}

TEST(Exposure, TheUsualSensorsHalfPicture) {
  for (const auto& [width, height] : {std::pair(800, 600), {640, 480}, {401, 296}}) {
    const auto readout = usual_readout(width, height);
    ASSERT_TRUE(readout);
    EXPECT_NEAR(readout->line().value(), 49.60e-6, 0.005e-6);
    EXPECT_NEAR(readout->bands(50_Hz), 2.98, 0.005);
    EXPECT_NEAR(readout->bands(60_Hz), 3.57, 0.005);
  }
  EXPECT_EQ(usual_readout(1024, 768)->lines, 1248);
  EXPECT_FALSE(usual_readout(400, 296));
}

TEST(Exposure, FlickerLeftAtAHundredHertz) {
  EXPECT_NEAR(flicker_left(50_Hz, 5_ms, 1), 0.637, 0.0005);
  EXPECT_NEAR(flicker_left(50_Hz, Seconds::from_value(1 / 120.0), 1), 0.191, 0.0005);
  EXPECT_NEAR(flicker_left(50_Hz, 10_ms, 1), 0, 1e-12);
  EXPECT_NEAR(flicker_left(50_Hz, 15_ms, 1), 0.212, 0.0005);
}

TEST(Exposure, CleanExposuresAreHundredthsOrHundredAndTwentieths) {
  EXPECT_NEAR(clean_exposure(50_Hz, 1).value(), 0.01, 1e-15);
  EXPECT_NEAR(clean_exposure(50_Hz, 3).value(), 0.03, 1e-15);
  EXPECT_NEAR(clean_exposure(60_Hz, 1).value(), 1 / 120.0, 1e-15);
}

TEST(Exposure, ASensorLeavesOutLinesUntilTheRestFits) {
  EXPECT_EQ(lines_that_fit(1200, 1248), 1200);
  EXPECT_EQ(lines_that_fit(1200, 672), 600);
  EXPECT_EQ(lines_that_fit(1944, 1000), 972);
  EXPECT_EQ(lines_that_fit(1200, 336), 300);
}

RC_GTEST_PROP(Exposure, CleanMeansClean, ()) {
  const Hertz mains = Hertz::from_value(*rc::gen::inRange(450, 651) / 10.0);
  const int n = *rc::gen::inRange(1, 50);
  RC_ASSERT(flicker_left(mains, clean_exposure(mains, n), 1) < 1e-9);
}

// The mean of the lamp's light over an exposure that begins anywhere, reckoned piece by piece, never differs
// from the steady light by more than what is said to be left; and somewhere by nearly as much.
RC_GTEST_PROP(Exposure, FlickerLeftIsTheMostThatAMeanCanDiffer, ()) {
  const double depth = *rc::gen::inRange(1, 101) / 100.0;
  const double exposure = *rc::gen::inRange(1, 400) / 1e4;
  const double left = flicker_left(50_Hz, Seconds::from_value(exposure), depth);
  double most = 0;
  for (int start = 0; start < 200; ++start) {
    double sum = 0;
    constexpr int kPieces = 400;
    for (int i = 0; i < kPieces; ++i) {
      const double time = start * 0.01 / 200 + exposure * (i + 0.5) / kPieces;
      sum += depth * std::cos(2 * M_PI * 100 * time);
    }
    most = std::max(most, std::abs(sum / kPieces));
  }
  RC_ASSERT(most <= left + 1e-3);
  RC_ASSERT(most >= left - 1e-3);
}

RC_GTEST_PROP(Exposure, TheLongestExposureSmearsJustSoFar, ()) {
  const auto speed = MetresPerSecond::from_value(*rc::gen::inRange(1, 50000) / 1000.0);
  const auto density = PerMetre::from_value(*rc::gen::inRange(1, 100000) / 1.0);
  const double px = *rc::gen::inRange(1, 100) / 10.0;
  RC_ASSERT(std::abs(motion_blur_px(speed, longest_exposure(speed, density, px), density) / px - 1) < 1e-12);
}

}  // namespace
}  // namespace rookery::plan
