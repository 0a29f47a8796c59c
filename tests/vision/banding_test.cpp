#include "vision/banding.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <random>

namespace rookery::vision {
namespace {

using base::Microseconds;

struct Lamp {
  double light_hz = 100;
  double depth = 0.1;
  double row_us = 53.42;
  int rows = 1200;
};

// Row means of pictures under a flickering lamp, taken at the given times.
std::vector<RowMeans> under(const Lamp& lamp, const std::vector<double>& times_s, bool stamped,
                            double noise = 0.05, double drift = 0) {
  std::mt19937 random(3);
  std::normal_distribution<double> normal(0, noise);
  std::vector<RowMeans> out;
  for (const double at_s : times_s) {
    RowMeans picture;
    for (int y = 0; y < lamp.rows; ++y) {
      const double scene = 90 + 40 * std::sin(y * 0.004) + (y > lamp.rows / 2 ? 25 : 0) + drift * at_s;
      const double light =
          1 + lamp.depth * std::sin(2 * std::numbers::pi * lamp.light_hz * (at_s + y * lamp.row_us * 1e-6));
      picture.rows.push_back(scene * light + normal(random));
    }
    if (stamped) picture.stamp = Microseconds(std::llround(at_s * 1e6));
    out.push_back(std::move(picture));
  }
  return out;
}

std::vector<double> times(double apart_s, int count) {
  std::vector<double> out;
  for (int i = 0; i < count; ++i) out.push_back(1 + i * apart_s);
  return out;
}

// The published-geometry vectors: lines a frame 1248 (1600×1200) at 15 pictures a second, 672 (800×600)
// at 30.
struct Vector {
  double row_us;
  int lines;
  double light_hz;
  double bands;
};
constexpr Vector kVectors[] = {
    {53.42, 1200, 100, 6.41}, {53.42, 1200, 120, 7.69}, {49.60, 600, 100, 2.98}, {49.60, 600, 120, 3.57}};

TEST(Banding, BandsAreReadoutTimesTwiceTheMains) {
  for (const auto& vector : kVectors) {
    const Lamp lamp{vector.light_hz, 0.1, vector.row_us, vector.lines};
    const auto found = find_banding(under(lamp, times(0.0713, 8), false));
    ASSERT_TRUE(found) << vector.bands;
    EXPECT_NEAR(found->bands, vector.bands, 0.1) << vector.bands;
    EXPECT_NEAR(found->depth, 0.1, 0.025);
    const std::chrono::duration<double> readout(vector.row_us * 1e-6 * vector.lines);
    const MainsAnswer mains = tell_mains(*found, readout);
    EXPECT_EQ(mains.mains_hz, static_cast<int>(vector.light_hz / 2)) << mains.why;
  }
}

TEST(Banding, WeakBandsAreFoundAndNoneIsNotInvented) {
  const auto weak = find_banding(under({100, 0.01, 53.42, 1200}, times(0.083, 10), false));
  ASSERT_TRUE(weak);
  EXPECT_NEAR(weak->depth, 0.01, 0.004);
  EXPECT_FALSE(find_banding(under({100, 0, 53.42, 1200}, times(0.083, 10), false)));
  EXPECT_FALSE(find_banding(under({100, 0.001, 53.42, 1200}, times(0.083, 10), false)));
  // Exposure that drifts and daylight that moves make no bands.
  EXPECT_FALSE(find_banding(under({100, 0, 53.42, 1200}, times(0.083, 10), false, 0.05, 20)));
}

TEST(Banding, AnObjectThatMovesIsNoBand) {
  std::vector<RowMeans> pictures = under({100, 0, 53.42, 480}, times(0.1, 10), false);
  for (std::size_t i = 0; i < pictures.size(); ++i) {
    for (std::size_t y = 100 + 20 * i; y < 180 + 20 * i; ++y) pictures[i].rows[y] -= 15;
  }
  EXPECT_FALSE(find_banding(pictures));
}

TEST(Banding, TooLittleToTellIsNothing) {
  EXPECT_FALSE(find_banding({}));
  EXPECT_FALSE(find_banding(under({}, times(0.1, 1), false)));
  EXPECT_FALSE(find_banding(under({100, 0.1, 53.42, 16}, times(0.1, 8), false)));
}

TEST(Banding, TheBoardsStampsTellTheMainsWithoutAReadoutTime) {
  // Intervals as a board's are: about 12 a second, never quite even.
  std::vector<double> at = {1};
  std::mt19937 random(9);
  for (int i = 0; i < 24; ++i)
    at.push_back(at.back() + 0.08 + 0.004 * std::generate_canonical<double, 32>(random));
  for (const int mains : {50, 60}) {
    for (const double strays : {-0.05, 0.0, 0.05}) {
      const auto pictures = under({2 * (mains + strays), 0.08, 40, 600}, at, true);
      const auto found = find_banding(pictures);
      ASSERT_TRUE(found);
      const MainsAnswer answer = tell_mains(*found, pictures);
      EXPECT_EQ(answer.mains_hz, mains) << strays << ": " << answer.why;
    }
  }
}

TEST(Banding, WhatCannotBeToldSaysWhy) {
  const auto pictures = under({100, 0.1, 53.42, 1200}, times(0.083, 10), false);
  const auto found = find_banding(pictures);
  ASSERT_TRUE(found);
  const MainsAnswer unstamped = tell_mains(*found, pictures);
  EXPECT_FALSE(unstamped.mains_hz);
  EXPECT_NE(unstamped.why.find("readout time"), std::string::npos) << unstamped.why;
  // 83.333 ms are 10 periods of 120 Hz and 8⅓ of 100: but 50 ms are whole periods of both.
  const auto twice = under({100, 0.1, 53.42, 1200}, times(0.05, 10), true);
  EXPECT_FALSE(find_banding(twice));  // stands still: not seen at all
  const MainsAnswer neither = tell_mains(*found, std::chrono::duration<double>(0.08));
  EXPECT_FALSE(neither.mains_hz);
  EXPECT_NEAR(neither.light_hz, 80, 2);
  EXPECT_NE(neither.why.find("neither 100 nor 120 Hz"), std::string::npos);
}

}  // namespace
}  // namespace rookery::vision
