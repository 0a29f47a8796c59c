#include "plan/capacitor.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <fmt/format.h>

#include "plan/subject.h"

namespace rookery::plan {
namespace {

// Computed from the formulas (so they check the arithmetic): REFERENCE 7.
TEST(Capacitor, SizeForAStep) {
  EXPECT_NEAR(needed_capacitance({0.3_A, 1_ms}, 0.2_V, 0_ohm)->value(), 1500e-6, 1e-12);
}

TEST(Capacitor, SagOfAStep) {
  EXPECT_NEAR(sag({0.3_A, Seconds::from_value(0.0005)}, 470_uF, 0.1_ohm).value(), 0.349, 0.0005);
}

TEST(Capacitor, WhereTheSeriesResistanceTakesItAllNoSizeHelps) {
  EXPECT_EQ(needed_capacitance({2_A, 1_ms}, 0.2_V, 0.1_ohm), std::nullopt);
  EXPECT_EQ(covered(2_A, 0.2_V, 1000_uF, 0.1_ohm), 0_s);
}

RC_GTEST_PROP(Capacitor, TheSizeNeededFallsByJustWhatIsAllowed, ()) {
  const LoadStep step{Amperes::from_value(*rc::gen::inRange(1, 1000) * 1e-3),
                      Seconds::from_value(*rc::gen::inRange(1, 10000) * 1e-6)};
  const auto esr = Ohms::from_value(*rc::gen::inRange(0, 100) * 1e-3);
  const auto allowed = Volts::from_value(*rc::gen::inRange(110, 1000) * 1e-3);
  const auto size = needed_capacitance(step, allowed, esr);
  RC_ASSERT(size.has_value());
  RC_ASSERT(std::abs((sag(step, *size, esr) - allowed).value()) < 1e-9);
  RC_ASSERT(std::abs((covered(step.current, allowed, *size, esr) / step.duration).value() - 1) < 1e-9);
}

// What the supply feeds only helps, and in the end the capacitor is no help.
RC_GTEST_PROP(Capacitor, WithASupplyItFallsLessAndComesToWhatThePathLoses, ()) {
  const auto current = Amperes::from_value(*rc::gen::inRange(1, 1000) * 1e-3);
  const auto size = Farads::from_value(*rc::gen::inRange(10, 10000) * 1e-6);
  const auto esr = Ohms::from_value(*rc::gen::inRange(1, 500) * 1e-3);
  const auto path = Ohms::from_value(*rc::gen::inRange(10, 5000) * 1e-3);
  const auto time = Seconds::from_value(*rc::gen::inRange(1, 10000) * 1e-6);
  RC_ASSERT(sag_with_supply(current, time, size, esr, path) <= sag({current, time}, size, esr) + 1e-9 * 1_V);
  const Seconds long_after = 50.0 * (path + esr) * size;
  RC_ASSERT(std::abs((sag_with_supply(current, long_after, size, esr, path) - current * path).value()) <
            1e-9);
}

TEST(Capacitor, ARatingIsHalfAsMuchAgain) {
  EXPECT_EQ(usual_rating(5.2_V), std::optional(10_V));
  EXPECT_EQ(usual_rating(4_V), std::optional(6.3_V));
  EXPECT_EQ(usual_rating(50_V), std::nullopt);
}

base::Result<Planned> planned(std::vector<Given> more) {
  std::vector<Given> given = {{"step", "0.3 A"}, {"duration", "1 ms"}, {"allowed", "0.2 V"}};
  for (Given& one : more) {
    std::erase_if(given, [&](const Given& other) { return other.key == one.key; });
    given.push_back(std::move(one));
  }
  return plan(*find_subject("capacitor"), given);
}

TEST(CapacitorSubject, TheOneToTakeHoldsInTheWorstCase) {
  const auto out = planned({});
  ASSERT_TRUE(out) << out.error().text();
  EXPECT_EQ(out->answer.verdict(), Verdict::holds);
  EXPECT_LE(out->answer.figure("sag").spread->high, 0.2);
  EXPECT_GT(out->answer.figure("size").value, out->answer.figure("needed").value);
}

TEST(CapacitorSubject, OneThatIsTooSmallIsToldWhichToTake) {
  const auto out = planned({{"fitted", "470 uF"}});
  ASSERT_TRUE(out) << out.error().text();
  EXPECT_EQ(out->answer.verdict(), Verdict::fails);
  EXPECT_EQ(out->answer.limit("sag").remedy, "Take 3300 µF, or one with less series resistance.");
}

TEST(CapacitorSubject, AWeakSupplyIsNotAnEdge) {
  const auto out = planned({{"duration", "0.5 s"}});
  ASSERT_TRUE(out) << out.error().text();
  EXPECT_EQ(out->answer.verdict(), Verdict::fails);
  EXPECT_NE(out->answer.limit("sag").remedy.find("weak supply"), std::string::npos);
}

// What it says of the fall is what the verdict goes by, and what it recommends holds.
RC_GTEST_PROP(CapacitorSubject, TheOneToTakeHoldsWhenTypedBackIn, ()) {
  std::vector<Given> asked = {{"step", std::to_string(*rc::gen::inRange(50, 500)) + " mA"},
                              {"duration", std::to_string(*rc::gen::inRange(50, 3000)) + " us"},
                              {"allowed", std::to_string(*rc::gen::inRange(60, 500)) + " mV"},
                              {"esr", std::to_string(*rc::gen::inRange(0, 100)) + " mohm"},
                              {"source", *rc::gen::element<std::string>("supply", "usb-port")}};
  if (*rc::gen::arbitrary<bool>())
    asked.push_back({"path", std::to_string(*rc::gen::inRange(50, 2000)) + " mohm"});
  const auto first = planned(asked);
  if (!first) return;
  const Answer& answer = first->answer;
  const Limit& sag = answer.limit("sag");
  RC_ASSERT(answer.headline.find("falls by " + show_value(sag.value, sag.kind)) != std::string::npos);
  asked.push_back({"fitted", show_value(answer.figure("size").value, Kind::capacitance)});
  const auto second = planned(asked);
  RC_ASSERT(second.has_value());
  RC_ASSERT(second->answer.limit("sag").verdict == sag.verdict);
  // It is none only where it says so.
  const bool none = answer.headline.starts_with("No ");
  RC_ASSERT(none == (sag.verdict == Verdict::fails));
  if (asked[4].text == "usb-port") RC_ASSERT(answer.figure("size").value <= 10e-6 + 1e-12);
}

TEST(CapacitorSubject, WhereNoneIsNeededNoneIsAskedFor) {
  const auto out = planned({{"path", "0.2 ohm"}});
  ASSERT_TRUE(out) << out.error().text();
  EXPECT_TRUE(out->answer.headline.starts_with("None is needed")) << out->answer.headline;
  EXPECT_NEAR(out->answer.figure("size").value, 10e-6, 1e-12);
  EXPECT_EQ(out->answer.limit("sag").verdict, Verdict::holds);
}

TEST(CapacitorSubject, AUsbPortBearsTenMicrofaradsAtTheMost) {
  const auto large = planned({{"source", "usb-port"}, {"fitted", "100 uF"}});
  ASSERT_TRUE(large) << large.error().text();
  EXPECT_EQ(large->answer.limit("inrush").verdict, Verdict::fails);
  const auto small = planned({{"source", "usb-port"}, {"fitted", "10 uF"}});
  ASSERT_TRUE(small) << small.error().text();
  EXPECT_NE(small->answer.limit("inrush").verdict, Verdict::fails);
  EXPECT_NE(small->answer.limit("sag").remedy.find("charger"), std::string::npos);
  const auto other = planned({{"fitted", "100 uF"}});
  ASSERT_TRUE(other) << other.error().text();
  for (const Limit& limit : other->answer.limits) EXPECT_NE(limit.key, "inrush");
}

TEST(CapacitorSubject, WhatDoesNotGoTogetherIsRefusedWithWhatToChange) {
  const auto esr = planned({{"step", "2 A"}});
  ASSERT_FALSE(esr);
  EXPECT_EQ(esr.error().where, "capacitor: esr");
  EXPECT_NE(esr.error().remedy.find("100 mΩ"), std::string::npos) << esr.error().remedy;
  const auto allowed = planned({{"allowed", "5 V"}, {"voltage", "3.3 V"}});
  ASSERT_FALSE(allowed);
  EXPECT_EQ(allowed.error().where, "capacitor: allowed");
  EXPECT_FALSE(planned({{"step", "0 A"}}));
  EXPECT_FALSE(planned({{"duration", "-1 ms"}}));
  EXPECT_FALSE(planned({{"allowed", "0.2 A"}}));
}

}  // namespace
}  // namespace rookery::plan
