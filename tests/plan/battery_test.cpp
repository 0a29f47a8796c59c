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
  RC_ASSERT(duty.asleep + pulsed.current >= 1.2 * kCutOffOthers.current - 1e-9 * 1_A);
  // Even from a socket at its least.
  RC_ASSERT(duty.asleep + 0.95 * pulsed.current > kCutOffOthers.current);
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
  EXPECT_EQ(answer({{"wanted", "18 h"}}).limit("wanted").verdict, Verdict::holds);
  // 300 mA, as a board may take at the most, out of cells counted at 3.6 V through a converter of 80 %: 19.2
  // h.
  EXPECT_NEAR(answer({}).figure("streaming").spread->low / 3600, 19.2, 0.01);
  const Answer tight = answer({{"wanted", "20 h"}});
  EXPECT_EQ(tight.limit("wanted").verdict, Verdict::tight);
  EXPECT_NE(tight.limit("wanted").label.find("19 of 20"), std::string::npos);
  const Answer fails = answer({{"wanted", "3 days"}});
  EXPECT_EQ(fails.limit("wanted").verdict, Verdict::fails);
}

// A measured current is one value.
TEST(BatterySubject, AGivenCurrentHasOnlyItsOwnSpread) {
  EXPECT_NEAR(answer({{"streaming", "190 mA"}}).figure("streaming").spread->low / 3600,
              10 * 3.6 / 5 * 0.8 / (0.19 * 1.1), 0.01);
}

RC_GTEST_PROP(BatterySubject, TheCapacityNeededHoldsWhenTypedBackIn, ()) {
  std::vector<Given> asked = {{"use", *rc::gen::element<std::string>("streaming", "stills")},
                              {"wanted", std::to_string(*rc::gen::inRange(2, 200)) + " h"},
                              {"every", std::to_string(*rc::gen::inRange(20, 3600)) + " s"},
                              {"temperature", std::to_string(*rc::gen::inRange(-20, 40)) + " C"}};
  if (*rc::gen::arbitrary<bool>())
    asked.push_back({"idle", std::to_string(*rc::gen::inRange(1, 30)) + " mA"});
  const Answer first = answer(asked);
  const Figure& needed = first.figure("needed");
  if (needed.value < 360 || needed.value > 1.8e6) RC_DISCARD("beyond the field's range");
  asked.push_back({"capacity", show_value(needed.value, needed.kind, needed.digits)});
  const Limit wanted = answer(asked).limit("wanted");
  RC_ASSERT(wanted.margin() >= 0);
  RC_ASSERT(wanted.label.ends_with("worst case"));
}

// The load that it names, typed in as what flows in the sleep, keeps the bank on; and the resistor is rated
// for twice its heat.
RC_GTEST_PROP(BatterySubject, TheKeepAliveLoadHoldsTheBank, ()) {
  const int sleep_ma = *rc::gen::inRange(1, 80);
  const int cut_off_ma = *rc::gen::inRange(85, 180);
  std::vector<Given> asked = {{"use", "stills"},
                              {"sleep", std::to_string(sleep_ma) + " mA"},
                              {"streaming", "400 mA"},
                              {"cut-off", std::to_string(cut_off_ma) + " mA"}};
  const Answer off = answer(asked);
  RC_ASSERT(off.limit("cut-off").verdict == Verdict::fails);
  // What the board sleeps at the least, and the load from a socket at its least.
  const Amperes load =
      steady_keep_alive({190_mA, 10_s, Amperes::from_value(sleep_ma * 1e-3) * (1 - 0.1), 600_s},
                        {Amperes::from_value(cut_off_ma * 1e-3), 30_s})
          .current;
  RC_ASSERT(off.figure("stills-steady").note.find(show_value(load.value(), Kind::current)) !=
            std::string::npos);
  const KeepAliveResistor resistor = keep_alive_resistor({load, 1_s, 1_s}, 5_V);
  RC_ASSERT((4.75_V / resistor.most + Amperes::from_value(sleep_ma * 0.9e-3)).value() > cut_off_ma * 1e-3);
  RC_ASSERT(resistor.rating >= 2.0 * (5_V * 5_V / resistor.most));
  asked[1].text = std::to_string(sleep_ma * 0.9 + load.value() * 950) + " mA";
  asked.push_back({"current-spread", "0 %"});
  RC_ASSERT(answer(asked).limit("cut-off").verdict != Verdict::fails);
}

TEST(BatterySubject, ABanksOwnCurrentCountsWhenItIsKnown) {
  const Answer without = answer({{"use", "stills"}});
  const Answer with = answer({{"use", "stills"}, {"idle", "10 mA"}});
  EXPECT_LT(with.figure("stills-pulsed").value, without.figure("stills-pulsed").value);
  // 10 mA at 3.7 V of the cells are 6.29 mA at 5 V that a converter of 85 % would have given.
  EXPECT_NEAR((with.figure("mean").value - without.figure("mean").value) * 1e3, 6.29, 0.01);
  const auto said = [](const Answer& one) {
    return std::any_of(one.notes.begin(), one.notes.end(), [](const Note& note) {
      return note.text.find("takes for itself while it is on is left out") != std::string::npos;
    });
  };
  EXPECT_TRUE(said(without));
  EXPECT_FALSE(said(with));
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
