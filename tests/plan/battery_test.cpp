#include "plan/battery.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <algorithm>

#include <fmt/format.h>

#include "plan/subject.h"

namespace rookery::plan {
namespace {

// Computed from the formulas (so they check the arithmetic): REFERENCE 6.
TEST(Battery, ABankOf10000MilliampereHours) {
  const Joules printed = energy_printed(10000_mAh, kCellVoltage);
  EXPECT_NEAR((printed * kConverterPlanned / 1_Wh).value(), 31.45, 0.001);
  const Coulombs charge = charge_at(printed, kConverterPlanned, 5_V);
  EXPECT_NEAR((charge / 1_mAh).value(), 6290, 0.5);
  EXPECT_NEAR((lasts(charge, 0.31_A) / 1_h).value(), 20.3, 0.05);
}

TEST(Battery, SleepIsWhatCountsWhenAwakeIsShort) {
  const Duty duty{190_mA, 10_s, 6_mA, 600_s};
  EXPECT_NEAR(mean_current(duty).value(), (190e-3 * 10 + 6e-3 * 590) / 600, 1e-12);
}

TEST(Battery, ABankGoesOffInALongSleepAndNotInAShortOne) {
  EXPECT_TRUE(cuts_off({190_mA, 10_s, 6_mA, 600_s}, kCutOffOthers));
  EXPECT_FALSE(cuts_off({190_mA, 10_s, 6_mA, 30_s}, kCutOffOthers));
  EXPECT_FALSE(cuts_off({190_mA, 10_s, 60_mA, 600_s}, kCutOffCommonChip));
  EXPECT_TRUE(cuts_off({190_mA, 10_s, 60_mA, 600_s}, kCutOffOthers));
  // It never sees enough current at all.
  EXPECT_TRUE(cuts_off({80_mA, 10_s, 6_mA, 20_s}, kCutOffOthers));
}

TEST(Battery, TheColdKeepsBackMore) {
  EXPECT_EQ(share_in_the_cold(25_C), 1);
  EXPECT_NEAR(share_in_the_cold(20_C), 1, 1e-12);
  EXPECT_NEAR(share_in_the_cold(0_C), 0.8, 1e-12);
  EXPECT_NEAR(share_in_the_cold({-20}), 0.6, 1e-12);
}

// What keeps it awake takes it to the cut-off current, and comes back before the time is over.
RC_GTEST_PROP(Battery, AKeepAliveLoadReachesTheCutOff, ()) {
  const Duty duty{190_mA, 10_s, Amperes::from_value(*rc::gen::inRange(1, 90) * 1e-3), 600_s};
  const auto pulse = Seconds::from_value(*rc::gen::inRange(1, 100) * 0.1);
  const KeepAlive pulsed = pulsed_keep_alive(duty, kCutOffOthers, pulse);
  RC_ASSERT(duty.asleep + pulsed.current >= kCutOffOthers.current - 1e-9 * 1_A);
  RC_ASSERT(pulsed.period < kCutOffOthers.after);
  RC_ASSERT(pulsed.mean() <= steady_keep_alive(duty, kCutOffOthers).mean());
}

RC_GTEST_PROP(Battery, TheMeanLiesBetweenAsleepAndAwake, ()) {
  const Duty duty{Amperes::from_value(*rc::gen::inRange(100, 1000) * 1e-3),
                  Seconds::from_value(*rc::gen::inRange(1, 60)),
                  Amperes::from_value(*rc::gen::inRange(1, 100) * 1e-3),
                  Seconds::from_value(*rc::gen::inRange(60, 6000))};
  RC_ASSERT(mean_current(duty) >= duty.asleep && mean_current(duty) <= duty.awake);
}

base::Result<Planned> planned(std::vector<Given> more) {
  std::vector<Given> given = {{"kind", "bank"}, {"capacity", "10000 mAh"}, {"use", "streaming"}};
  for (Given& one : more) {
    std::erase_if(given, [&](const Given& other) { return other.key == one.key; });
    given.push_back(std::move(one));
  }
  return plan(*find_subject("battery"), given);
}

Answer answer(std::vector<Given> more) {
  auto out = planned(std::move(more));
  EXPECT_TRUE(out) << out.error().text();
  return out ? out->answer : Answer{};
}

TEST(BatterySubject, ItsPresetsAreTheCautiousOnesQuoted) {
  const auto out = planned({});
  ASSERT_TRUE(out) << out.error().text();
  EXPECT_EQ(out->values.amperes("cut-off"), kCutOffOthers.current);
  EXPECT_EQ(out->values.seconds("cut-off-after"), kCutOffOthers.after);
  EXPECT_GT(kCutOffOthers.current, kCutOffCommonChip.current);
  EXPECT_EQ(out->values.ratio("efficiency"), kConverterPlanned);
  EXPECT_EQ(out->values.volts("cell-voltage"), kCellVoltage);
}

TEST(BatterySubject, StreamsForAsLongAsTheSumSays) {
  const Answer out = answer({{"streaming", "310 mA"}});
  EXPECT_NEAR(out.figure("streaming").value / 3600, 20.3, 0.05);
  EXPECT_NEAR(out.figure("charge").value / 3.6, 6290, 0.5);
  EXPECT_EQ(out.verdict(), Verdict::holds);
}

TEST(BatterySubject, ABankThatSwitchesItselfOffIsSaidAndWhatKeepsItAwakeCosts) {
  const Answer out = answer({{"use", "stills"}});
  EXPECT_EQ(out.limit("cut-off").verdict, Verdict::fails);
  EXPECT_NE(out.headline.find("switches itself off"), std::string::npos);
  EXPECT_LT(out.figure("stills-pulsed").value, out.figure("stills").value);
  EXPECT_LT(out.figure("stills-steady").value, out.figure("stills-pulsed").value);
  EXPECT_EQ(answer({{"use", "stills"}, {"kind", "cells"}}).verdict(), Verdict::holds);
  EXPECT_EQ(answer({{"use", "stills"}, {"every", "25 s"}}).limit("cut-off").verdict, Verdict::holds);
}

TEST(BatterySubject, TheTimeWantedIsHeldAgainstTheWorstCase) {
  EXPECT_EQ(answer({{"wanted", "20 h"}}).limit("wanted").verdict, Verdict::holds);
  const Answer tight = answer({{"wanted", "28 h"}});
  EXPECT_EQ(tight.limit("wanted").verdict, Verdict::tight);
  const Answer fails = answer({{"wanted", "3 days"}});
  EXPECT_EQ(fails.limit("wanted").verdict, Verdict::fails);
  // With what it says is needed it would last, as planned.
  const double needed = fails.figure("needed").value / 3.6;
  EXPECT_NEAR(answer({{"capacity", fmt::format("{:.1f} mAh", needed)}}).figure("streaming").value / 3600, 72,
              0.1);
}

TEST(BatterySubject, NobodyIsToldToChargeInTheFrost) {
  const Answer out = answer({{"temperature", "-5 C"}});
  EXPECT_TRUE(std::any_of(out.notes.begin(), out.notes.end(), [](const Note& note) {
    return note.caution && note.text.find("must not be charged below 0") != std::string::npos;
  }));
  EXPECT_LT(out.figure("streaming").value, answer({}).figure("streaming").value);
}

TEST(BatterySubject, WhatDoesNotGoTogetherIsRefusedWithWhatToChange) {
  const auto awake = planned({{"use", "stills"}, {"awake", "20 s"}, {"every", "10 s"}});
  ASSERT_FALSE(awake);
  EXPECT_EQ(awake.error().where, "battery: awake");
  const auto sleep = planned({{"sleep", "500 mA"}});
  ASSERT_FALSE(sleep);
  EXPECT_EQ(sleep.error().where, "battery: sleep");
  EXPECT_FALSE(planned({{"temperature", "-40 C"}}));  // no discharge curve reaches that far
  EXPECT_FALSE(planned({{"capacity", "0 mAh"}}));
  EXPECT_FALSE(planned({{"capacity", "10000 mA"}}));
}

}  // namespace
}  // namespace rookery::plan
