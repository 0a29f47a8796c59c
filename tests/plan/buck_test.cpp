#include "plan/buck.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace rookery::plan {
namespace {

// Computed from the formulas (so they check the arithmetic): REFERENCE 4.
TEST(Buck, RippleOfAnIdealRegulatorFrom24VTo5V) {
  EXPECT_NEAR(duty(24_V, 5_V, {}), 0.2083, 0.0001);
  const Amperes ripple = ripple_current(inductor_volt_seconds(24_V, 5_V, {}, 150_kHz), 33_uH);
  EXPECT_NEAR(ripple.value(), 0.800, 0.0005);
  const OutputRipple out = output_ripple(ripple, 150_kHz, 220_uF, 0.1_ohm);
  EXPECT_NEAR(out.charging.value(), 0.003, 0.0001);
  EXPECT_NEAR(out.resistance.value(), 0.080, 0.0001);
  EXPECT_NEAR(out.together().value(), 0.083, 0.0001);
}

TEST(Buck, ATurnOfTheUsualTrimmerIsAVoltAndAHalf) {
  EXPECT_NEAR(volts_a_turn(1.23_V, 330_ohm, 10_kohm, 25).value(), 1.49, 0.005);
  EXPECT_NEAR(buck_output(1.23_V, 330_ohm, 10_kohm).value(), 38.5, 0.05);
}

TEST(Buck, TheKindOf23VDoesNotBear24V) {
  EXPECT_LT(find_buck("buck-23")->input_most, 24_V);
  EXPECT_GT(find_buck("buck-28")->input_most, 24_V);
  EXPECT_EQ(find_buck("buck-50"), nullptr);
}

RC_GTEST_PROP(Buck, UpperResistorAndOutputAreEachOthersInverse, ()) {
  const auto output = Volts::from_value(*rc::gen::inRange(1300, 20000) * 1e-3);
  const auto r1 = Ohms::from_value(*rc::gen::inRange(10, 100000));
  const Ohms r2 = upper_resistor(output, 1.23_V, r1);
  RC_ASSERT(std::abs((buck_output(1.23_V, r1, r2) - output).value()) < 1e-9);
}

// Neighbours of the series differ by at most 2.8 % (after rounding to three digits).
RC_GTEST_PROP(Buck, NoResistorIsFarFromTheE96Series, ()) {
  const auto wanted = Ohms::from_value(*rc::gen::inRange(10, 10000000));
  // The widest step is from 1.02 to 1.05: its middle is 1.45 % from both.
  RC_ASSERT(std::abs((nearest_e96(wanted) / wanted).value() - 1) < 0.015);
}

RC_GTEST_PROP(Buck, WhatGoesInIsWhatComesOutAndTheHeat, ()) {
  const auto output = Volts::from_value(*rc::gen::inRange(10, 150) * 0.1);
  const auto current = Amperes::from_value(*rc::gen::inRange(1, 3000) * 1e-3);
  const auto input = Volts::from_value(*rc::gen::inRange(160, 400) * 0.1);
  const double efficiency = *rc::gen::inRange(30, 98) / 100.0;
  const Watts in = input * input_current(output, current, input, efficiency);
  RC_ASSERT(std::abs((in - output * current - converter_heat(output, current, efficiency)).value()) < 1e-9);
}

}  // namespace
}  // namespace rookery::plan
