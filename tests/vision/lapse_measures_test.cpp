#include "vision/lapse_measures.h"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

namespace rookery::vision {
namespace {

TEST(LapseMeasures, UnlikenessIsTheMeanOfWhatIsStill) {
  const std::vector<std::uint8_t> a{10, 20, 30, 255};
  const std::vector<std::uint8_t> b{12, 14, 30, 0};
  EXPECT_DOUBLE_EQ(unlikeness(a, b), (2 + 6 + 0 + 255) / 4.0);
  EXPECT_DOUBLE_EQ(unlikeness(a, b, std::vector<std::uint8_t>{1, 1, 1, 0}), 8.0 / 3);
  EXPECT_EQ(unlikeness(a, b, std::vector<std::uint8_t>{0, 0, 0, 0}), 0);
  EXPECT_EQ(unlikeness({}, {}), 0);
}

TEST(LapseMeasures, SpacingIsTheRootMeanSquareOff) {
  const std::vector<double> even{5, 15, 25};
  EXPECT_EQ(rms_spacing(even, 10), 0);
  const std::vector<double> odd{0, 13, 19};
  EXPECT_DOUBLE_EQ(rms_spacing(odd, 10), std::sqrt((9 + 16) / 2.0));
  EXPECT_EQ(rms_spacing(std::vector<double>{4}, 10), 0);
}

TEST(LapseMeasures, AStepThatStaysIsNoFlicker) {
  std::vector<double> levels(60, 100);
  for (std::size_t i = 30; i < 60; ++i) levels[i] = 50;
  EXPECT_EQ(flicker(levels), 0);
  for (std::size_t i = 0; i < 60; i += 2) levels[i] += 3;
  EXPECT_GT(flicker(levels), 1.4);
  EXPECT_EQ(flicker(std::vector<double>{1, 90}), 0);
}

TEST(LapseMeasures, ShrinkingIsCounted) {
  EXPECT_EQ(shrinking_share(std::vector<double>{0, 0, 1, 2}), 0);
  EXPECT_DOUBLE_EQ(shrinking_share(std::vector<double>{0, 2, 1, 3, 2}), 0.5);
  EXPECT_EQ(shrinking_share(std::vector<double>{}), 0);
}

TEST(LapseMeasures, StepsOfAPoint) {
  const std::vector<double> x{0, 3, 3, 3};
  const std::vector<double> y{0, 4, 4, 5};
  const StepSizes steps = step_sizes(x, y);
  EXPECT_DOUBLE_EQ(steps.mean, 2);
  EXPECT_DOUBLE_EQ(steps.p95, 1);  // of three, the second
  EXPECT_EQ(step_sizes({}, {}).mean, 0);
}

}  // namespace
}  // namespace rookery::vision
