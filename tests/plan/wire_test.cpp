#include "plan/wire.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "plan/subject.h"
#include "plan/unit_text.h"

namespace rookery::plan {
namespace {

// Computed from the formulas (so they check the arithmetic): REFERENCE 1.
TEST(Wire, LoopOfARunAtATemperature) {
  const Ohms loop = loop_resistance(0.5_mm2, 5_m, Strands::flexible, 40_C);
  EXPECT_NEAR(loop.value(), 0.4207, 0.0001);
  EXPECT_NEAR((loop * 0.5_A).value(), 0.210, 0.0005);
}

TEST(Wire, OneMetreOf28GaugeAtHalfAnAmpere) {
  const SquareMetres area = SquareMetres::from_value(awg_area(28));
  EXPECT_NEAR((loop_resistance(area, 1_m, Strands::nominal, 20_C) * 0.5_A).value(), 0.213, 0.0005);
}

TEST(Wire, OnderdonkForFiveSeconds) {
  // d = 0.0508 in is 2581 circular mils.
  const SquareMetres area = SquareMetres::from_value(2581 * 5.067075e-10);
  EXPECT_NEAR(onderdonk_melting_current(area, 5_s, 25_C).value(), 168.9, 0.1);
  EXPECT_NEAR(onderdonk_melting_time(area, onderdonk_melting_current(area, 5_s, 25_C), 25_C).value(), 5,
              1e-9);
}

TEST(Wire, AFuseIsUsedToThreeQuartersAtMost) {
  EXPECT_EQ(fuse_for(0.3_A), std::optional(0.5_A));
  EXPECT_EQ(fuse_for(0.5_A), std::optional(0.8_A));
  EXPECT_EQ(fuse_for(7.5_A), std::optional(10_A));
  EXPECT_EQ(fuse_for(7.6_A), std::nullopt);
}

RC_GTEST_PROP(Wire, TheLongestRunLosesJustTheDropAllowed, ()) {
  const auto area = SquareMetres::from_value(*rc::gen::inRange(5, 4000) * 1e-9);
  const auto current = Amperes::from_value(*rc::gen::inRange(1, 5000) * 1e-3);
  const auto drop = Volts::from_value(*rc::gen::inRange(1, 2000) * 1e-3);
  const Celsius warm{static_cast<double>(*rc::gen::inRange(-40, 105))};
  const Strands strands = *rc::gen::element(Strands::flexible, Strands::solid, Strands::nominal);
  const Metres longest = longest_run(area, strands, warm, current, drop);
  RC_ASSERT(std::abs((loop_resistance(area, longest, strands, warm) * current - drop).value()) < 1e-9);
}

// NEC 240.4(D), from memory: 18 AWG 7 A, 16 AWG 10 A.
TEST(Wire, TheLargestFuseIsWhatTheCodeAllowsForThinWires) {
  EXPECT_NEAR(largest_fuse(SquareMetres::from_value(awg_area(18))).value(), 7, 0.1);
  EXPECT_NEAR(largest_fuse(SquareMetres::from_value(awg_area(16))).value(), 10, 0.3);
}

Answer answer(std::vector<Given> given) {
  auto planned = plan(*find_subject("wire"), given);
  EXPECT_TRUE(planned) << planned.error().text();
  return planned ? planned->answer : Answer{};
}

TEST(Wire, AThinLongRunSaysWhichSizeHolds) {
  const Answer thin = answer({{"current", "0.5 A"}, {"length", "5 m"}, {"size", "28 AWG"}});
  EXPECT_EQ(thin.verdict(), Verdict::fails);
  EXPECT_EQ(thin.nearest_limit()->key, "end");
  EXPECT_NE(thin.nearest_limit()->remedy.find("take 22 AWG or more"), std::string::npos)
      << thin.nearest_limit()->remedy;
  EXPECT_EQ(answer({{"current", "0.5 A"}, {"length", "5 m"}, {"size", "0.5 mm2"}}).verdict(), Verdict::holds);
}

RC_GTEST_PROP(Wire, TheLongestRunAndTheSizeToTakeHoldWhenTypedBackIn, ()) {
  std::vector<Given> asked = {{"current", std::to_string(*rc::gen::inRange(50, 3000)) + " mA"},
                              {"size", *rc::gen::element<std::string>("28 AWG", "0.5 mm2", "18 AWG")},
                              {"need", std::to_string(*rc::gen::inRange(4400, 5150)) + " mV"},
                              {"temperature", std::to_string(*rc::gen::inRange(-20, 80)) + " C"},
                              {"length", std::to_string(*rc::gen::inRange(1, 20)) + " m"}};
  const Answer first = answer(asked);
  const Figure& longest = first.figure("longest");
  const std::string& remedy = first.limit("end").remedy;
  const std::size_t take = remedy.find("take ");
  if (take != std::string::npos) {
    const std::size_t begin = take + 5;
    std::vector<Given> thicker = asked;
    thicker[1].text = remedy.substr(begin, remedy.find(" or more") - begin);
    RC_ASSERT(answer(thicker).limit("end").verdict != Verdict::fails);
  }
  if (longest.value < 0.01 || longest.value > 200) RC_DISCARD("beyond the field's range");
  asked.back().text = show_value(longest.value, longest.kind);
  RC_ASSERT(answer(asked).limit("end").verdict != Verdict::fails);
  asked.back().text = std::to_string(longest.value * 1.021) + " m";
  if (longest.value * 1.021 <= 200) RC_ASSERT(answer(asked).limit("end").verdict == Verdict::fails);
}

TEST(Wire, AShortIsToldWithoutGoingBeyondTheFormula) {
  const auto text = [](std::string_view current) {
    std::string all;
    for (const Note& note : answer({{"current", "0.5 A"},
                                    {"length", "2 m"},
                                    {"size", "0.5 mm2"},
                                    {"short-current", std::string(current)}})
                                .notes) {
      all += note.text;
    }
    return all;
  };
  EXPECT_NE(text("15 A").find("does not melt at once"), std::string::npos) << text("15 A");
  EXPECT_NE(text("100 A").find("melts after about"), std::string::npos) << text("100 A");
}

TEST(Wire, WhereNothingMayBeLostItSaysSo) {
  const auto planned =
      plan(*find_subject("wire"),
           std::vector<Given>{
               {"current", "1 A"}, {"length", "1 m"}, {"size", "1 mm2"}, {"from", "5 V"}, {"need", "5 V"}});
  ASSERT_FALSE(planned);
  EXPECT_EQ(planned.error().where, "wire: need");
}

}  // namespace
}  // namespace rookery::plan
