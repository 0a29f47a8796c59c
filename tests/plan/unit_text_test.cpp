#include "plan/unit_text.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>

#include "base/printable.h"

namespace rookery::plan {
namespace {

double read(std::string_view text, Kind kind) {
  const auto value = read_value(text, kind, "test");
  EXPECT_TRUE(value) << text << ": " << (value ? "" : value.error().text());
  return value ? *value : NAN;
}

void expect_refused(std::string_view text, Kind kind, std::string_view says) {
  const auto value = read_value(text, kind, "supply: source");
  ASSERT_FALSE(value) << text << " was read as " << *value;
  EXPECT_EQ(value.error().code, base::ErrorCode::invalid_value);
  EXPECT_EQ(value.error().where, "supply: source");
  EXPECT_NE(value.error().text().find(says), std::string::npos) << value.error().text();
  EXPECT_NE(value.error().remedy.find(accepted_forms(kind)), std::string::npos) << value.error().text();
}

TEST(UnitText, AVoltIsWrittenInManyWays) {
  for (const char* text : {"5.2 V", "5,2 V", "5.2V", "5.2v", "+5.2 V", "5200 mV", "5.2 VDC", "5,2VDC",
                           "5.2 V DC", "5.2", " 5.2 V ", "5.2\u00a0V", "0.0052 kV", "5.2 volts", "52e-1 V"}) {
    EXPECT_NEAR(read(text, Kind::voltage), 5.2, 1e-12) << text;
  }
  EXPECT_DOUBLE_EQ(read("24VDC", Kind::voltage), 24);
}

TEST(UnitText, ACommaThatMayPartThousandsIsNotGuessedAt) {
  expect_refused("1,500 mA", Kind::current, "1,500");
  expect_refused("1,500,000 V", Kind::voltage, "1,500,000");
  expect_refused("1.500,2 V", Kind::voltage, "1.500,2");
  EXPECT_DOUBLE_EQ(read("0,125 V", Kind::voltage), 0.125);  // no thousands begin with a nought
  EXPECT_DOUBLE_EQ(read("10 000 mAh", Kind::charge), 36000);
  expect_refused("1,000", Kind::length, "may part thousands");
}

TEST(UnitText, ASpacePartsThousandsOnlyBetweenThem) {
  EXPECT_DOUBLE_EQ(read("1 234 567 V", Kind::voltage), 1234567);
  EXPECT_DOUBLE_EQ(read("-10 000.5 V", Kind::voltage), -10000.5);
  for (const char* text :
       {"0.5 100 A", "0,5 100 A", "1234 567 A", "0 100 A", "1 2345 A", "1 23 A", "12 345 6789 A"}) {
    EXPECT_FALSE(read_value(text, Kind::current, "test")) << text;
  }
}

TEST(UnitText, ABareShareOfOneOrMoreMayBePercent) {
  EXPECT_DOUBLE_EQ(read("0.85", Kind::ratio), 0.85);
  EXPECT_DOUBLE_EQ(read("0", Kind::ratio), 0);
  EXPECT_DOUBLE_EQ(read("1 %", Kind::ratio), 0.01);
  expect_refused("1", Kind::ratio, "write 1 % or 100 %");
  expect_refused("1.5", Kind::ratio, "write 1.5 % or 150 %");
  expect_refused("-2", Kind::ratio, "write -2 % or -200 %");
}

RC_GTEST_PROP(UnitText, WhateverIsRefusedIsShownAsText, (std::string text)) {
  for (int i = *rc::gen::inRange(0, 4); i > 0; --i)
    text += *rc::gen::elementOf(
        std::vector<std::string>{"\xff", "\x1b[2J", "\u009b", "5 ", "\u00e9\u00e9\u00e9\u00e9"});
  for (int i = 0; i <= static_cast<int>(Kind::money); ++i) {
    const auto value = read_value(text, static_cast<Kind>(i), "test");
    if (value) continue;
    RC_ASSERT(base::is_printable(value.error().text()));
    RC_ASSERT(value.error().text().size() < 500U);
  }
}

TEST(UnitText, PrefixesKeepTheirCaseAndTheRestNeedNot) {
  EXPECT_DOUBLE_EQ(read("310 ma", Kind::current), 0.31);
  EXPECT_DOUBLE_EQ(read("10000 mah", Kind::charge), 36000);
  EXPECT_DOUBLE_EQ(read("150 KHZ", Kind::frequency), 150e3);
  EXPECT_DOUBLE_EQ(read("24 MV", Kind::voltage),
                   24e6);  // absurd, but read as what it says; a field's range refuses it
  EXPECT_DOUBLE_EQ(read("2 Mohm", Kind::resistance), 2e6);
  EXPECT_DOUBLE_EQ(read("2 mohm", Kind::resistance), 2e-3);
  expect_refused("310 MA", Kind::current, "MA");
  expect_refused("80 Mb/s", Kind::byte_rate, "Mb/s");  // bits are no bytes
  expect_refused("128 Gb", Kind::bytes, "Gb");
  EXPECT_DOUBLE_EQ(read("80 Mb/s", Kind::bit_rate), 80e6);
}

TEST(UnitText, GreekAndRaisedLettersAreWhatTheyMean) {
  EXPECT_DOUBLE_EQ(read("470 µF", Kind::capacitance), 470e-6);
  EXPECT_DOUBLE_EQ(read("470 \u03bcF", Kind::capacitance), 470e-6);
  EXPECT_DOUBLE_EQ(read("330 Ω", Kind::resistance), 330);
  EXPECT_DOUBLE_EQ(read("40 °C", Kind::temperature), 40);
  EXPECT_DOUBLE_EQ(read("−10 C", Kind::temperature), -10);
  EXPECT_DOUBLE_EQ(read("68°", Kind::angle), 68);
  EXPECT_DOUBLE_EQ(read("0,5 mm²", Kind::wire_size), 0.5e-6);
}

TEST(UnitText, AWireIsASquareOrAGauge) {
  // ASTM B258: cross-section in mm².
  for (const auto& [text, mm2] : {std::pair("22 awg", 0.326),
                                  {"AWG 22", 0.326},
                                  {"awg22", 0.326},
                                  {"22AWG", 0.326},
                                  {"14 AWG", 2.081},
                                  {"28 AWG", 0.081},
                                  {"0.5mm2", 0.5},
                                  {"0,5 mm2", 0.5}}) {
    EXPECT_NEAR(read(text, Kind::wire_size) * 1e6, mm2, 0.0006) << text;
  }
  expect_refused("22", Kind::wire_size, "no unit");
  expect_refused("22 V", Kind::wire_size, "\"V\"");
  expect_refused("41 AWG", Kind::wire_size, "AWG");
  expect_refused("awg", Kind::wire_size, "not a number");
  for (const char* text : {"2awg2", "2 awg 2", "2 2awg", "awg-2", "awgawg2", "awg 2 awg"}) {
    EXPECT_FALSE(read_value(text, Kind::wire_size, "test")) << text;
  }
}

TEST(UnitText, ASpeedIsNotGuessedToBeMetresOrMillimetres) {
  EXPECT_DOUBLE_EQ(read("120 mm/s", Kind::speed), 0.12);
  EXPECT_DOUBLE_EQ(read("6000 mm/min", Kind::speed), 0.1);
  EXPECT_NEAR(read("5 km/h", Kind::speed), 1.3889, 0.0001);
  expect_refused("120", Kind::speed, "no unit");
}

TEST(UnitText, WhatIsNoValueIsRefusedWithTheFormsThatAre) {
  for (const char* text : {"", " ", "V", "five volts", "--5 V", "5..2 V", "1e999 V", "nan", "inf V", "5.2 A",
                           "5.2 VAC", "5 2 V", "0x10 V", "5.2 V 3", "."}) {
    EXPECT_FALSE(read_value(text, Kind::voltage, "test")) << text;
  }
  expect_refused("24 VAC", Kind::voltage, "no unit of voltage");
  expect_refused("2.5", Kind::count, "whole");
  expect_refused("10 m", Kind::duration, "no unit of duration");
  expect_refused(std::string(5000, '9') + " V", Kind::voltage, "5002 bytes");
}

TEST(UnitText, ValuesAreShownInAUnitThatFits) {
  EXPECT_EQ(show_value(5.2, Kind::voltage), "5.20 V");
  EXPECT_EQ(show_value(0.31, Kind::current), "310 mA");
  EXPECT_EQ(show_value(0.9997, Kind::current), "1.00 A");
  EXPECT_EQ(show_value(0, Kind::current), "0.00 A");
  EXPECT_EQ(show_value(0, Kind::ratio, 2), "0.0 %");
  EXPECT_EQ(show_value(-0.05, Kind::voltage), "-50.0 mV");
  EXPECT_EQ(show_value(0.5e-6, Kind::wire_size, 2), "0.50 mm²");
  EXPECT_EQ(show_value(0.85, Kind::ratio, 2), "85 %");
  EXPECT_EQ(show_value(43.2e9, Kind::bytes), "43.2 GB");
  EXPECT_EQ(show_value(12, Kind::count), "12");
  EXPECT_EQ(show_value(10.5, Kind::money), "10.50");
  EXPECT_EQ(show_value(36000, Kind::charge), "10000 mAh");
  EXPECT_EQ(show_value(1.5, Kind::rate, 2), "1.5/s");
  EXPECT_EQ(show_value(0.27e-3, Kind::length), "0.270 mm");
  EXPECT_EQ(show_value(33.7e-6, Kind::length), "33.7 µm");
  EXPECT_EQ(show_value(0.12, Kind::speed), "120 mm/s");
}

TEST(UnitText, EveryKindsFormsAreTakenByIt) {
  for (int i = 0; i <= static_cast<int>(Kind::money); ++i) {
    const Kind kind = static_cast<Kind>(i);
    EXPECT_FALSE(name_of(kind).empty());
    std::string forms(accepted_forms(kind));
    // Forms are parted by a comma and a space; a decimal comma has no space behind it.
    for (std::size_t at = 0; at < forms.size();) {
      const std::size_t end = std::min(forms.find(", ", at), forms.size());
      EXPECT_TRUE(read_value(forms.substr(at, end - at), kind, "test")) << forms.substr(at, end - at);
      at = end + 2;
    }
  }
}

RC_GTEST_PROP(UnitText, WhatIsShownReadsBackWithinItsDigits, ()) {
  const Kind kind = *rc::gen::elementOf(std::vector<Kind>{
      Kind::voltage, Kind::current, Kind::power, Kind::energy, Kind::charge, Kind::length, Kind::duration,
      Kind::frequency, Kind::bytes, Kind::byte_rate, Kind::bit_rate, Kind::ratio});
  const double exponent = *rc::gen::inRange(-200, 700) / 100.0;
  const double value = std::pow(10.0, exponent);
  const auto back = read_value(show_value(value, kind, 6), kind, "test");
  RC_ASSERT(back.has_value());
  RC_ASSERT(std::abs(*back - value) <= std::max(value * 1e-5, 1e-6));
}

}  // namespace
}  // namespace rookery::plan
