#include "plan/linear_regulator.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace rookery::plan {
namespace {

namespace of = regulator_1117;

// Computed from the formulas (so they check the arithmetic): REFERENCE 3.
TEST(LinearRegulator, InputNeeded) {
  EXPECT_NEAR(input_needed({3.3_V, of::kDropoutMost, 0_A}).value(), 4.6, 1e-9);
  EXPECT_NEAR(input_needed({3.3_V, of::kDropoutTypical, 0_A}).value(), 4.4, 1e-9);
  EXPECT_NEAR(input_needed({of::kOutputMost, of::kDropoutMost, 0_A}).value(), 4.699, 1e-9);  // 4.70
}

TEST(LinearRegulator, InDropoutTheRailFollowsTheInput) {
  EXPECT_NEAR(rail_from({}, 4.3_V).value(), 3.0, 1e-9);
  EXPECT_NEAR(rail_from({}, 4.6_V).value(), 3.3, 1e-9);
  EXPECT_NEAR(rail_from({}, 5.2_V).value(), 3.3, 1e-9);
  EXPECT_EQ(rail_from({}, 1_V).value(), 0);
}

TEST(LinearRegulator, HeatFrom5VAt310Milliamperes) {
  const LinearRegulator without_own_current{3.3_V, 1.3_V, 0_A};
  const Watts heat = heat_of(without_own_current, 5_V, 310_mA);
  EXPECT_NEAR(heat.value(), 0.527, 0.0005);
  EXPECT_NEAR((heat * of::kJunctionToAirMost).value(), 47.4, 0.05);
  EXPECT_NEAR((heat * of::kJunctionToAirLeast).value(), 24.2, 0.05);
  EXPECT_NEAR(junction_temperature(40_C, heat, of::kJunctionToAirMost).degrees, 87.4, 0.05);
}

RC_GTEST_PROP(LinearRegulator, WhatComesInGoesOnOrIsHeat, ()) {
  const auto input = Volts::from_value(*rc::gen::inRange(20, 150) * 0.1);
  const auto current = Amperes::from_value(*rc::gen::inRange(12, 900) * 1e-3);
  const LinearRegulator regulator;
  const Watts onward = rail_from(regulator, input) * (current - regulator.quiescent);
  RC_ASSERT(std::abs((input * current - onward - heat_of(regulator, input, current)).value()) < 1e-9);
  RC_ASSERT(heat_of(regulator, input, current) >= 0_W);
}

}  // namespace
}  // namespace rookery::plan
