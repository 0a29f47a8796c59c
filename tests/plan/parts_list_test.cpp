#include "plan/parts_list.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "base/printable.h"

namespace rookery::plan {
namespace {

Part one(std::string_view text) {
  const auto list = read_parts(text, "cost: parts");
  EXPECT_TRUE(list) << text << ": " << (list ? "" : list.error().text());
  if (!list) return {};
  EXPECT_EQ(list->parts.size(), 1U) << text;
  return list->parts.front();
}

void expect_part(std::string_view text, std::string_view name, double quantity, double price,
                 std::string_view unit = "", double pack = 0, int cameras = 1) {
  SCOPED_TRACE(text);
  const Part part = one(text);
  EXPECT_EQ(part.name, name);
  EXPECT_DOUBLE_EQ(part.quantity, quantity);
  EXPECT_DOUBLE_EQ(part.price, price);
  EXPECT_EQ(part.unit, unit);
  EXPECT_DOUBLE_EQ(part.pack, pack);
  EXPECT_EQ(part.cameras, cameras);
}

std::string wrong_with(std::string_view text) {
  const auto list = read_parts(text, "cost: parts");
  if (list) return "was read";
  EXPECT_EQ(list.error().where, "cost: parts");
  EXPECT_NE(list.error().remedy.find("NAME 2 x 1.10"), std::string::npos);
  return list.error().detail;
}

TEST(PartsList, AnEntryEndsInItsPrice) {
  expect_part("board module 9.80", "board module", 1, 9.80);
  expect_part("  board   module   9,80  ", "board module", 1, 9.80);
  expect_part("\tboard module\t9.80\r", "board module", 1, 9.80);
  expect_part("given away 0", "given away", 1, 0);
  expect_part("18650 cell 3.50", "18650 cell", 1, 3.50);
  expect_part("28 AWG wire 0.40", "28 AWG wire", 1, 0.40);
  expect_part("socket BNC 2.40", "socket BNC", 1, 2.40);
}

TEST(PartsList, HowManyStandsBeforeAnX) {
  for (const char* text : {"case 2 x 1.10", "case 2x1.10", "case 2 x1.10", "case 2x 1.10", "case 2 × 1.10",
                           "case 2×1.10", "case 2 * 1.10", "case 2*1,10", "case 2 X 1.10", "case 2 each 1.10",
                           "2 x case 1.10", "2x case 1.10", "case 2 x €1.10", "case 2x€1.10"}) {
    expect_part(text, "case", 2, 1.10);
  }
  expect_part("resistor 330 1 x 0.02", "resistor 330", 1, 0.02);
  expect_part("box 4x6 1.10", "box 4x6", 1, 1.10);
}

TEST(PartsList, AMeasureStandsBeforeAt) {
  expect_part("wire 3 m at 0.40", "wire", 3, 0.40, "m");
  expect_part("wire 3m at 0.40", "wire", 3, 0.40, "m");
  expect_part("wire 3 m @ 0,40", "wire", 3, 0.40, "m");
  expect_part("wire 1.5 m at 0.40/m", "wire", 1.5, 0.40, "m");
  expect_part("work 0,5 h at 20", "work", 0.5, 20, "h");
  expect_part("case 2 at 1.10", "case", 2, 1.10);
}

TEST(PartsList, APackIsDealtOut) {
  expect_part("screws 4 of 100 for 3.20", "screws", 4, 3.20, "", 100);
  EXPECT_DOUBLE_EQ(one("screws 4 of 100 for 3.20").each(), 0.032);
}

TEST(PartsList, WhomItServesStandsInFront) {
  expect_part("shared: access point 45", "access point", 1, 45, "", 0, 0);
  expect_part("Shared : access point 45", "access point", 1, 45, "", 0, 0);
  expect_part("per 4: regulator 6.00", "regulator", 1, 6, "", 0, 4);
  expect_part("per 4 cameras: regulator 2 x 6.00", "regulator", 2, 6, "", 0, 4);
  expect_part("each: board 9.80", "board", 1, 9.80);
}

TEST(PartsList, EntriesArePartedByLinesAndSemicolonsAndRemarksAreLeftOut) {
  const auto list = read_parts(
      "# all prices of March\nboard 9.80; case 1.10 # printed; not bought\n\n;;wire 2\n", "cost: parts");
  ASSERT_TRUE(list) << list.error().text();
  ASSERT_EQ(list->parts.size(), 3U);
  EXPECT_EQ(list->parts[1].name, "case");
  EXPECT_EQ(list->parts[2].name, "wire");
}

TEST(PartsList, MoneyIsWhateverItIsButOneKind) {
  for (const char* text : {"board €9.80", "board 9.80€", "board 9.80 €", "board € 9.80"}) {
    const auto list = read_parts(text, "cost: parts");
    ASSERT_TRUE(list) << text << list.error().text();
    EXPECT_EQ(list->money, "€") << text;
    EXPECT_EQ(list->parts.front().name, "board") << text;
    EXPECT_EQ(list->parts.front().price, 9.80) << text;
  }
  EXPECT_EQ(read_parts("board 9.80 CHF; case 1; fuse 0.30CHF", "cost: parts")->money, "CHF");
  EXPECT_EQ(read_parts("board 9.80", "cost: parts")->money, "");
  EXPECT_NE(wrong_with("board 9.80 €; case $1").find("entry 2 \"case $1\": it counts in $"),
            std::string::npos);
}

TEST(PartsList, WhatCannotBeReadIsSaidWithItsEntry) {
  const auto says = [](std::string_view text, std::string_view words) {
    const std::string detail = wrong_with(text);
    EXPECT_NE(detail.find(words), std::string::npos) << text << " → " << detail;
  };
  says("board", "entry 1 \"board\": there is no price at its end");
  says("board 9.80; case free", "entry 2 \"case free\": there is no price");
  says("9.80", "it has no name");
  says("2 x 9.80", "it has no name");
  says("shared: 9.80", "it has no name");
  says("shared:", "nothing follows its colon");
  says("hall: lamp 9.80", "\"hall:\" is none of");
  says("per four: lamp 9.80", "\"four\" is no number of cameras");
  says("per 0: lamp 9.80", "\"0\" is no number of cameras");
  says("per 2.5: lamp 9.80", "\"2.5\" is no number of cameras");
  says("case 2 1.10", "\"2 x\" for how many");
  says("access point 1 500", "it is not clear");
  says("wire 3 m 0.40", "write \"at\" between \"m\"");
  says("wire at 0.40", "there is no number before \"at\"");
  says("wire 3 m at 0.40/ft", "its price is for one ft");
  says("case x 1.10", "there is no number before \"x\"");
  says("case 0 x 1.10", "\"0\" is no quantity");
  says("3 x case 2 x 1.10", "it says twice how many");
  says("screws for 3.20", "there is no number before \"for\"");
  says("screws 100 for 3.20", "\"N of M\"");
  says("screws 4 of 0 for 3.20", "\"0\" is no quantity");
  says("board 1,500", "write 1500 or 1.50");
  says("board -3.00", "less than nothing");
  says("board 99999999999", "beyond all measure");
  says("", "holds no entry");
  says(" ; \n # nothing\n", "holds no entry");
  says(std::string("board\x01 9.80"), "cannot be printed");
}

TEST(PartsList, EveryWrongEntryIsToldTheFirstFiveInFull) {
  std::string text = "board 9.80";
  for (int i = 0; i < 7; ++i) text += "; nothing";
  const std::string detail = wrong_with(text);
  EXPECT_NE(detail.find("entry 2 \"nothing\""), std::string::npos);
  EXPECT_NE(detail.find("entry 6 \"nothing\""), std::string::npos);
  EXPECT_EQ(detail.find("entry 7 \"nothing\""), std::string::npos);
  EXPECT_NE(detail.find("and 2 more"), std::string::npos);
}

TEST(PartsList, ALongEntryIsToldShortenedBetweenCharacters) {
  std::string name;
  for (int i = 0; i < 60; ++i) name += "é";
  const std::string detail = wrong_with(name);
  EXPECT_NE(detail.find("…"), std::string::npos);
  EXPECT_TRUE(base::is_printable(detail));
}

// Whatever is typed is read or refused; what is read has a name, a quantity and a price that are ones.
RC_GTEST_PROP(PartsList, AnyTextIsReadOrRefused, ()) {
  const auto word = rc::gen::element<std::string>("board", "2", "x", "at", "for", "of", "9.80", "€", ":",
                                                  "shared", "per", ";", "\n", "#", "m", "1,500", "-1", "/",
                                                  "2x3", "EUR", "", "é", "*", "0", "each", "a");
  const auto glue = rc::gen::element<std::string>("", " ");
  std::string text;
  const int words = *rc::gen::inRange(0, 14);
  for (int i = 0; i < words; ++i) text += *word + *glue;
  const auto list = read_parts(text, "cost: parts");
  if (!list) {
    RC_ASSERT(!list.error().detail.empty());
    return;
  }
  RC_ASSERT(!list->parts.empty());
  for (const Part& part : list->parts) {
    RC_ASSERT(!part.name.empty());
    RC_ASSERT(part.quantity > 0 && part.quantity <= 1e6);
    RC_ASSERT(part.price >= 0 && part.price <= 1e9);
    RC_ASSERT(part.cameras >= 0 && part.pack >= 0);
  }
}

TEST(PartCosts, SparesTakeWhatACameraTakesAndNothingThatServesSeveral) {
  const Fleet fleet{6, 1};
  EXPECT_EQ(cost_of(one("board 10"), fleet).cost, 70);
  EXPECT_EQ(cost_of(one("per 4: regulator 6"), fleet).cost, 12);
  EXPECT_EQ(cost_of(one("per 3: regulator 6"), fleet).cost, 12);
  EXPECT_EQ(cost_of(one("shared: access point 45"), fleet).cost, 45);
}

TEST(PartCosts, PacksAreBoughtWhole) {
  const PartCost screws = cost_of(one("screws 4 of 25 for 3.00"), {6, 1});
  EXPECT_EQ(screws.needed, 28);
  EXPECT_EQ(screws.bought, 50);
  EXPECT_DOUBLE_EQ(screws.cost, 6);
  EXPECT_NEAR(screws.left_over, 22 * 3.0 / 25, 1e-12);
  // Ten tenths are one.
  EXPECT_DOUBLE_EQ(cost_of(one("tape 0.1 of 1 for 2.00"), {10, 0}).cost, 2);
}

}  // namespace
}  // namespace rookery::plan
