#include "plan/field.h"

#include <gtest/gtest.h>

#include <array>

#include "base/printable.h"

namespace rookery::plan {
namespace {

constexpr std::array kWords = {Choice{"solid", "Solid"}, Choice{"flexible", "Flexible"}};
constexpr std::array kFields = {
    Field{.key = "source",
          .label = "Voltage of the supply",
          .kind = Kind::voltage,
          .least = "1 V",
          .most = "60 V",
          .example = "24 V"},
    Field{.key = "length",
          .label = "Length",
          .kind = Kind::length,
          .least = "1 cm",
          .most = "200 m",
          .preset = "2 m",
          .why = "an arm's length"},
    Field{.key = "strands",
          .label = "Strands",
          .kind = Kind::choice,
          .preset = "solid",
          .why = "usual",
          .choices = kWords},
    Field{.key = "note", .label = "Note", .kind = Kind::words, .may_be_absent = true},
};

base::Result<Values> read(std::vector<Given> given, std::vector<base::Error>* all = nullptr) {
  return read_values(kFields, given, "wire", all);
}

TEST(Field, PresetsAreTakenAndSaidToBeAssumed) {
  const auto values = read({{"source", "24VDC"}});
  ASSERT_TRUE(values) << values.error().text();
  EXPECT_EQ(values->volts("source"), 24_V);
  EXPECT_EQ(values->metres("length"), 2_m);
  EXPECT_EQ(values->choice("strands"), "solid");
  EXPECT_FALSE(values->has("note"));
  ASSERT_EQ(values->entries().size(), 3U);
  EXPECT_FALSE(values->entries()[0].assumed);
  EXPECT_TRUE(values->entries()[1].assumed);
}

TEST(Field, AMissingValueIsAskedForByName) {
  const auto values = read({});
  ASSERT_FALSE(values);
  EXPECT_EQ(values.error().where, "wire: source");
  EXPECT_EQ(values.error().detail, "is missing: Voltage of the supply");
  EXPECT_EQ(values.error().remedy, "give it, such as 24 V");
}

TEST(Field, OutsideTheModelNothingIsExtrapolated) {
  for (const char* text : {"24 MV", "0 V", "-24 V", "60.1 V"}) {
    const auto values = read({{"source", text}});
    ASSERT_FALSE(values) << text;
    EXPECT_NE(values.error().detail.find("where this sum ends"), std::string::npos);
    EXPECT_EQ(values.error().remedy, "give a value from 1 V to 60 V");
  }
  EXPECT_TRUE(read({{"source", "60 V"}}));
  EXPECT_TRUE(read({{"source", "1 V"}}));
}

TEST(Field, EveryMistakeIsToldAtOnce) {
  std::vector<base::Error> all;
  EXPECT_FALSE(read({{"sauce", "24 V"}, {"length", "far"}, {"strands", "woven"}, {"length", "1 m"}}, &all));
  ASSERT_EQ(all.size(), 4U);
  EXPECT_EQ(all[0].where, "wire: sauce");
  EXPECT_EQ(all[0].remedy, "it knows: source, length, strands, note");
  EXPECT_EQ(all[1].where, "wire: source");
  EXPECT_EQ(all[2].detail, "is given twice");
  EXPECT_EQ(all[3].remedy, "choose one of: solid, flexible");
}

TEST(Field, FarMoreValuesThanFieldsAreOneMistake) {
  std::vector<Given> given;
  for (int i = 0; i < 1000; ++i) given.push_back({std::to_string(i), ""});
  std::vector<base::Error> all;
  EXPECT_FALSE(read(given, &all));
  EXPECT_EQ(all.size(), 1U);
}

TEST(Field, AdviceStaysWithinTheRange) {
  std::vector<base::Error> all;
  EXPECT_FALSE(read({{"source", "far"}, {"length", "12 parsecs"}}, &all));
  ASSERT_EQ(all.size(), 2U);
  EXPECT_EQ(all[0].remedy, "write it like 5.2 V, 5,2 V, 24VDC, 5200 mV");
  EXPECT_EQ(all[1].remedy, "write it like 1.5 m, 40 cm, 6 ft") << "3.26 mm is less than its least";
  const Field field{.key = "disk", .kind = Kind::bytes, .least = "100 GB", .most = "1 PB", .example = "1 TB"};
  EXPECT_EQ(forms_of(field), "1 TB") << "none of the kind's forms is within";
}

TEST(Field, ABareShareIsAdvisedWithinTheRange) {
  const Field field{
      .key = "free", .kind = Kind::ratio, .least = "2 %", .most = "95 %", .preset = "20 %", .why = "usual"};
  const auto remedy = [&](const std::string& text) {
    const auto values = read_values(std::span(&field, 1), std::vector<Given>{{"free", text}}, "radio");
    EXPECT_FALSE(values) << text;
    return values ? std::string() : values.error().remedy;
  };
  EXPECT_EQ(remedy("20"), "write 20 %");
  EXPECT_EQ(remedy("1"), "give a value from 2 % to 95 %");
  EXPECT_EQ(remedy("300"), "give a value from 2 % to 95 %");
  EXPECT_EQ(remedy("much"), "write it like 85 %, 0.85");
}

TEST(Field, WhatIsEchoedIsShortAndPrintable) {
  const std::string bad = "\x1b[31m\xff" + std::string(90'000, 'x');
  std::vector<base::Error> all;
  EXPECT_FALSE(read({{"source", "\x1b[2J\xff"}, {"length", "99999 m"}, {"strands", bad}, {bad, "1"}}, &all));
  ASSERT_EQ(all.size(), 4U);
  for (const base::Error& error : all) {
    EXPECT_TRUE(base::is_printable(error.text())) << error.text();
    EXPECT_LT(error.text().size(), 300U);
  }
  for (const char* words : {"\xff", "a\x1b[31m", "a\u009b", "a\u202e"}) {
    EXPECT_FALSE(read({{"source", "24 V"}, {"note", words}})) << words;
  }
  EXPECT_TRUE(read({{"source", "24 V"}, {"note", "one\ttwo\r\nth\u00fcr\u00e9e"}}));
}

TEST(Field, WordsHaveABound) {
  EXPECT_TRUE(read({{"source", "24 V"}, {"note", std::string(4000, 'x')}}));
  EXPECT_FALSE(read({{"source", "24 V"}, {"note", std::string(4001, 'x')}}));
}

}  // namespace
}  // namespace rookery::plan
