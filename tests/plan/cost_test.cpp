#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include <fmt/format.h>

#include "plan/subject.h"

namespace rookery::plan {
namespace {

constexpr const char* kParts =
    "board 9.80; case 1.10; wire 3 m at 0.40; screws 4 of 100 for 3.20; per 4: regulator 6.00; shared: "
    "access "
    "point 45.00";

Answer answer(std::vector<Given> more, std::string parts = kParts) {
  more.push_back({"parts", std::move(parts)});
  const auto out = plan(*find_subject("cost"), more);
  EXPECT_TRUE(out) << out.error().text();
  return out ? out->answer : Answer{};
}

TEST(Cost, AFleetIsWhatItsPartsCome) {
  const Answer six = answer({{"cameras", "6"}, {"spares", "10 %"}});
  // 7 · (9.80 + 1.10 + 1.20) + a pack of screws + 2 regulators + the access point.
  EXPECT_NEAR(six.figure("total").value, 7 * 12.10 + 3.20 + 12 + 45, 1e-9);
  EXPECT_NEAR(six.figure("one").value, 12.10 + 4 * 0.032, 1e-9);
  EXPECT_NEAR(six.figure("each").value, six.figure("total").value / 6, 1e-9);
  EXPECT_NEAR(six.figure("left-over").value, 72 * 0.032, 1e-9);
  EXPECT_EQ(six.tables[0].rows.size(), 7U);
  EXPECT_EQ(six.tables[0].rows[3][4], "1 pack of 100");
  EXPECT_EQ(six.tables[0].rows.back()[6], "144.90");
}

TEST(Cost, WithoutSparesNoneIsBuilt) {
  EXPECT_EQ(answer({{"cameras", "6"}, {"spares", "0 %"}}).figure("spares").value, 0);
}

TEST(Cost, ABudgetIsJudgedAndSaysHowManyItIsEnoughFor) {
  EXPECT_EQ(answer({{"cameras", "6"}}).limits.size(), 0U);
  const Answer rich = answer({{"cameras", "6"}, {"budget", "200"}});
  EXPECT_EQ(rich.verdict(), Verdict::holds);
  const Answer poor = answer({{"cameras", "6"}, {"budget", "100"}});
  EXPECT_EQ(poor.verdict(), Verdict::fails);
  // Three and a spare: 4 · 12.10 + 3.20 + 6 + 45 = 102.60; two and a spare: 90.50.
  EXPECT_NE(poor.nearest_limit()->remedy.find("enough for 2 of 6"), std::string::npos)
      << poor.nearest_limit()->remedy;
  EXPECT_NE(poor.nearest_limit()->remedy.find("\"board\""), std::string::npos);
  EXPECT_NE(answer({{"cameras", "2"}, {"budget", "100"}}).verdict(), Verdict::fails);
}

TEST(Cost, TheMoneyIsThePersonsOwn) {
  const Answer sum = answer({{"cameras", "1"}, {"spares", "0"}}, "board 9.80 EUR; case 1");
  EXPECT_NE(sum.headline.find("10.80 EUR"), std::string::npos) << sum.headline;
}

TEST(Cost, AWrongEntryIsNamed) {
  const auto out =
      plan(*find_subject("cost"), std::vector<Given>{{"cameras", "6"}, {"parts", "board 9.80; case"}});
  ASSERT_FALSE(out);
  EXPECT_EQ(out.error().where, "cost: parts");
  EXPECT_NE(out.error().detail.find("entry 2 \"case\""), std::string::npos);
}

// The page's test judges by a browser's own letters; here, that nothing of any length goes into the drawing.
TEST(Cost, TheDrawingHoldsNoMoreOfANameThanFits) {
  const std::string wide(500, 'W');
  std::string kanji;
  for (int i = 0; i < 100; ++i) kanji += "\u6f22";
  const auto out =
      plan(*find_subject("cost"),
           std::vector<Given>{{"cameras", "1000"},
                              {"parts", wide + " 1000000 x 1000000000; " + kanji + " 2; board 1"}});
  ASSERT_TRUE(out) << out.error().text();
  const std::string& drawing = out->answer.drawing;
  EXPECT_EQ(drawing.find(std::string(41, 'W')), std::string::npos);
  EXPECT_NE(drawing.find("WWW…</text>"), std::string::npos) << drawing;
  EXPECT_NE(drawing.find("\u6f22…</text>"), std::string::npos) << drawing;
  EXPECT_NE(drawing.find(">board</text>"), std::string::npos);
  // Amounts of many digits widen it.
  EXPECT_EQ(drawing.find("viewBox=\"0 0 560 "), std::string::npos) << drawing.substr(0, 100);
}

RC_GTEST_PROP(Cost, WhatItIsSpentOnAddsUpToAll, ()) {
  std::string parts;
  const int entries = *rc::gen::inRange(1, 8);
  for (int i = 0; i < entries; ++i) {
    const double price = *rc::gen::inRange(0, 100'000) / 100.0;
    const int quantity = *rc::gen::inRange(1, 20);
    parts += *rc::gen::element<std::string>("", "shared: ", "per 3: ", "per 7: ");
    parts += *rc::gen::arbitrary<bool>() ? fmt::format("part {} x {:.2f};", quantity, price)
                                         : fmt::format("part {} of 13 for {:.2f};", quantity, price);
  }
  const int cameras = *rc::gen::inRange(1, 200);
  const auto out = plan(*find_subject("cost"),
                        std::vector<Given>{{"cameras", std::to_string(cameras)},
                                           {"parts", parts},
                                           {"spares", std::to_string(*rc::gen::inRange(0, 60)) + " %"}});
  RC_ASSERT(out.has_value());
  const Answer& a = out->answer;
  double sum = 0;
  for (const char* key : {"cameras", "spares", "groups", "shared", "left-over"}) {
    RC_ASSERT(a.figure(key).value >= 0);
    sum += a.figure(key).value;
  }
  const double total = a.figure("total").value;
  RC_ASSERT(std::abs(sum - total) <= 1e-9 * (1 + total));
  RC_ASSERT(std::abs(a.figure("each").value * cameras - total) <= 1e-9 * (1 + total));
}

}  // namespace
}  // namespace rookery::plan
