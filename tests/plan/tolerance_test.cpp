#include "plan/tolerance.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

namespace rookery::plan {
namespace {

const ToleranceSum kTimes = [](std::span<const double> values, std::span<double> outputs) {
  outputs[0] = values[0] * values[1];
  outputs[1] = values[0] - values[1];
};

TEST(Tolerance, TheWorstCaseIsThatOfTheCorners) {
  const std::vector<Tolerance> parameters = {{10, 9, 12}, within(5, 0.2)};
  const Spreads out = spreads_of(parameters, 2, kTimes);
  EXPECT_EQ(out.nominal, (std::vector<double>{50, 5}));
  EXPECT_EQ(out.spreads[0].low, 36);
  EXPECT_EQ(out.spreads[0].high, 72);
  EXPECT_EQ(out.spreads[1].low, 3);
  EXPECT_EQ(out.spreads[1].high, 8);
}

// The 5th and 95th percentile of what is drawn evenly from 0 to 1 are 0.05 and 0.95; 10 000 draws hit them
// within four standard errors (0.0022 each).
TEST(Tolerance, PercentilesOfOneEvenParameterAreItsOwn) {
  const std::vector<Tolerance> one = {{0.5, 0, 1}};
  const Spreads out = spreads_of(
      one, 1, [](std::span<const double> values, std::span<double> outputs) { outputs[0] = values[0]; });
  EXPECT_NEAR(*out.spreads[0].p5, 0.05, 0.009);
  EXPECT_NEAR(*out.spreads[0].p95, 0.95, 0.009);
}

// The sum of two even ones from 0 to 1 is a triangle: 5 % lie below sqrt(0.1).
TEST(Tolerance, PercentilesOfASumOfTwoAreThoseOfATriangle) {
  const std::vector<Tolerance> two = {{0.5, 0, 1}, {0.5, 0, 1}};
  const Spreads out = spreads_of(two, 1, [](std::span<const double> values, std::span<double> outputs) {
    outputs[0] = values[0] + values[1];
  });
  EXPECT_NEAR(*out.spreads[0].p5, std::sqrt(0.1), 0.015);
  EXPECT_NEAR(*out.spreads[0].p95, 2 - std::sqrt(0.1), 0.015);
}

TEST(Tolerance, TheSameIsDrawnEveryTime) {
  const std::vector<Tolerance> parameters = {within(3, 0.1), within(4, 0.3)};
  const Spreads first = spreads_of(parameters, 2, kTimes);
  const Spreads second = spreads_of(parameters, 2, kTimes);
  for (std::size_t i = 0; i < 2; ++i) {
    EXPECT_EQ(first.spreads[i].p5, second.spreads[i].p5);
    EXPECT_EQ(first.spreads[i].p95, second.spreads[i].p95);
  }
}

TEST(Tolerance, WhatDoesNotVaryHasNoSpread) {
  const std::vector<Tolerance> parameters = {exactly(3), exactly(4)};
  const Spreads out = spreads_of(parameters, 2, kTimes);
  EXPECT_EQ(out.spreads[0].low, 12);
  EXPECT_EQ(out.spreads[0].high, 12);
  EXPECT_EQ(out.spreads[0].p5, 12);
  EXPECT_EQ(out.spreads[0].p95, 12);
}

RC_GTEST_PROP(Tolerance, OfASumThatRisesOrFallsNoDrawLiesBeyondTheCorners, ()) {
  std::vector<Tolerance> parameters;
  for (int i = 0; i < 2; ++i) {
    const double nominal = *rc::gen::inRange(1, 1000);
    parameters.push_back(within(nominal, *rc::gen::inRange(0, 90) / 100.0));
  }
  for (const Spread& spread : spreads_of(parameters, 2, kTimes).spreads) {
    RC_ASSERT(spread.low <= *spread.p5);
    RC_ASSERT(*spread.p5 <= *spread.p95);
    RC_ASSERT(*spread.p95 <= spread.high);
  }
}

Limit limit_of(double nominal, bool at_most) {
  return {.key = "k",
          .label = "Value",
          .kind = Kind::voltage,
          .value = nominal,
          .bound = 10,
          .at_most = at_most,
          .source = "s",
          .remedy = "Mend it."};
}

TEST(JudgedWithTolerances, HoldsWhenTheWorstCaseIsWellInside) {
  const Limit limit = judged(limit_of(12, false), {.low = 11, .high = 13, .p5 = 11.2, .p95 = 12.8}, 0.05);
  EXPECT_EQ(limit.verdict, Verdict::holds);
  EXPECT_EQ(limit.value, 11);
  EXPECT_EQ(limit.label, "Value, worst case");
}

TEST(JudgedWithTolerances, IsTightWhenOnlyTheWorstCaseIsOutside) {
  const Limit limit = judged(limit_of(12, false), {.low = 9, .high = 13, .p5 = 10.5, .p95 = 12.8}, 0.05);
  EXPECT_EQ(limit.verdict, Verdict::tight);
  EXPECT_EQ(limit.value, 10.5);
  EXPECT_EQ(limit.remedy, "In the worst case it is 9.00 V. Mend it.");
}

TEST(JudgedWithTolerances, FailsWhenOneCaseInTwentyIsOutside) {
  const Limit low = judged(limit_of(12, false), {.low = 8, .high = 13, .p5 = 9.5, .p95 = 12.8}, 0.05);
  EXPECT_EQ(low.verdict, Verdict::fails);
  EXPECT_EQ(low.value, 9.5);
  const Limit high = judged(limit_of(8, true), {.low = 7, .high = 12, .p5 = 7.5, .p95 = 10.5}, 0.05);
  EXPECT_EQ(high.verdict, Verdict::fails);
  EXPECT_EQ(high.value, 10.5);
}

// Where the plan takes the cautious end of a range, the nominal value may lie outside of 90 in 100.
TEST(JudgedWithTolerances, FailsWhenThePlannedValueIsOutside) {
  const Limit limit = judged(limit_of(9, false), {.low = 9, .high = 13, .p5 = 10.5, .p95 = 12.8}, 0.05);
  EXPECT_EQ(limit.verdict, Verdict::fails);
  EXPECT_EQ(limit.value, 9);
  EXPECT_EQ(limit.label, "Value, as planned");
}

RC_GTEST_PROP(JudgedWithTolerances, TheMarginHasTheVerdictsSign, ()) {
  std::vector<double> sorted;
  for (int i = 0; i < 4; ++i) sorted.push_back(*rc::gen::inRange(1, 200) / 10.0);
  std::sort(sorted.begin(), sorted.end());
  const Spread spread{.low = sorted[0], .high = sorted[3], .p5 = sorted[1], .p95 = sorted[2]};
  const double nominal = sorted[static_cast<std::size_t>(*rc::gen::inRange(0, 4))];
  const Limit limit = judged(limit_of(nominal, *rc::gen::arbitrary<bool>()), spread, 0.05);
  RC_ASSERT((limit.margin() >= 0) == (limit.verdict != Verdict::fails));
}

}  // namespace
}  // namespace rookery::plan
