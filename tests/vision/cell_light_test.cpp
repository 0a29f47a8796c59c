#include "vision/cell_light.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

namespace rookery::vision {
namespace {

constexpr int kWidth = 80;
constexpr int kHeight = 60;
using Share = double (*)(double u, double v);

double steady(double, double) { return 1; }
double dim(double, double) { return 0.4; }
double aside(double u, double v) { return 0.35 + 0.25 * (u + v) / 2; }
double daylight(double u, double v) { return 1 + 0.5 * u * u - 0.3 * v; }
double bands(double, double v) { return 1 + 0.06 * std::sin(6.28 * (3.2 * v + 0.3)); }
double all(double u, double v) { return aside(u, v) * bands(u, v); }

Cells scene() {
  Cells cells;
  for (int y = 0; y < kHeight; ++y) {
    for (int x = 0; x < kWidth; ++x)
      cells.push_back(static_cast<float>(110 + 50 * ((x / 5 + y / 7) % 2) + 20 * std::sin(x * 0.2)));
  }
  return cells;
}

jpeg::LumaGrid lit(const Cells& cells, Share share) {
  std::mt19937 random(3);
  std::normal_distribution<double> noise(0, 0.4);
  jpeg::LumaGrid grid{kWidth, kHeight, {}, false};
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const double u = (static_cast<double>(i % kWidth) + 0.5) / kWidth;
    const double v = (static_cast<double>(i / kWidth) + 0.5) / kHeight;
    const double value = static_cast<double>(cells[i]) * share(u, v) + noise(random);
    grid.cells.push_back(static_cast<std::uint8_t>(std::clamp(2 * std::round(value / 2), 0.0, 255.0)));
  }
  return grid;
}

class EveryLight : public testing::TestWithParam<Share> {};

TEST_P(EveryLight, IsTakenOutUpToItsNoise) {
  const Cells known = scene();
  const Levelled light = levelled(lit(known, GetParam()), known);
  double worst = 0;
  for (std::size_t i = 0; i < known.size(); ++i) {
    const double noise = 2.5 / static_cast<double>(light.shares[i]);
    worst = std::max(worst, static_cast<double>(std::fabs(light.flat[i] - known[i])) - noise);
  }
  EXPECT_LT(worst, 2) << "grey levels beyond the noise";
}

// A third of the picture is another thing: it stays what it is.
TEST_P(EveryLight, WhatIsNewStaysNew) {
  const Cells known = scene();
  Cells now = known;
  for (int y = 15; y < 45; ++y) {
    for (int x = 20; x < 60; ++x) now[static_cast<std::size_t>(y * kWidth + x)] = 60;
  }
  const Levelled light = levelled(lit(now, GetParam()), known);
  double sum = 0;
  for (std::size_t i = 0; i < now.size(); ++i) sum += static_cast<double>(std::fabs(light.flat[i] - now[i]));
  EXPECT_LT(sum / static_cast<double>(now.size()), 4);
}

INSTANTIATE_TEST_SUITE_P(Lights, EveryLight, testing::Values(steady, dim, aside, daylight, bands, all));

// Of a cell that is cut off at white it is not known how bright it is: it has not changed for that.
TEST(CellLight, WhatIsCutOffIsTakenForWhatItWas) {
  const Cells known = scene();
  const Levelled light = levelled(lit(known, [](double, double) { return 1.8; }), known);
  std::size_t cut = 0;
  for (std::size_t i = 0; i < known.size(); ++i) {
    cut += known[i] * 1.8F > 255 ? 1 : 0;
    EXPECT_NEAR(light.flat[i], known[i], 4);
  }
  EXPECT_GT(cut, known.size() / 4);
}

// Shapes are lost there: what is held against them is not sure.
TEST(CellLight, HowMuchMoreLightMayHaveCutOffIsTold) {
  Cells known = scene();
  EXPECT_EQ(levelled(lit(known, steady), known).lost, 0);
  EXPECT_EQ(levelled(lit(known, dim), known).lost, 0);
  for (std::size_t i = 0; i < known.size() / 4; ++i) known[i] = 200;
  const auto brighter = [](double, double) { return 1.15; };
  EXPECT_NEAR(levelled(lit(known, brighter), known).lost, 0.25, 0.05);
  EXPECT_EQ(levelled(lit(known, steady), known).lost, 0) << "bright, as it always is";
}

TEST(CellLight, BlackAndWhitePicturesGiveNumbers) {
  for (const std::uint8_t value : {std::uint8_t{0}, std::uint8_t{255}}) {
    const jpeg::LumaGrid grid{8, 6, std::vector<std::uint8_t>(48, value), false};
    const Levelled light = levelled(grid, Cells(48, 100));
    for (std::size_t i = 0; i < 48; ++i) {
      EXPECT_TRUE(std::isfinite(light.flat[i]));
      EXPECT_GT(light.shares[i], 0);
    }
  }
}

}  // namespace
}  // namespace rookery::vision
