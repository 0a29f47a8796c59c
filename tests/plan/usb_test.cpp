#include "plan/usb.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "plan/subject.h"
#include "plan/unit_text.h"

namespace rookery::plan {
namespace {

double ns(Seconds time) { return time.value() * 1e9; }

// Computed from the formulas (so they check the arithmetic): REFERENCE 5.
TEST(Usb, TheLargestReservationTakesMoreThanHalfOfABus) {
  EXPECT_NEAR(ns(packet_time(1024_B)), 20551, 0.5);
  EXPECT_NEAR(ns(reserved_time(kLargestReservation)), 61653, 0.5);
  EXPECT_EQ(kLargestReservation.bytes().value() * kMicroframesASecond, 24'576'000);
  EXPECT_EQ(cameras_on_a_bus(kLargestReservation), 1);
  EXPECT_NEAR(4 * ns(reserved_time({1, 1024_B})), 82204, 0.5);
  EXPECT_EQ(cameras_on_a_bus({1, 1024_B}), 4);
}

TEST(Usb, Yuy2HasTwoBytesAPixel) {
  EXPECT_EQ(yuy2_picture(640, 480).value() * 30, 18'432'000);
  EXPECT_EQ(yuy2_picture(1280, 720).value() * 10, 18'432'000);
}

TEST(Usb, OneMetreOf28GaugeAtHalfAnAmpere) {
  const SquareMetres area = SquareMetres::from_value(awg_area(28));
  EXPECT_NEAR((loop_resistance(area, 1_m, Strands::nominal, 20_C) * 0.5_A).value(), 0.213, 0.0005);
  // Of flexible copper at 40 °C it is more: that is what a person is told.
  EXPECT_GT(cable_drop(usb_cables().front(), 1_m, 0.5_A).value(), 0.213);
}

RC_GTEST_PROP(Usb, TheLeastReservationIsEnoughAndOneByteLessIsNot, ()) {
  const auto rate = BytesPerSecond::from_value(*rc::gen::inRange(1, 24'288'000));
  const auto least = least_reservation(rate);
  RC_ASSERT(least.has_value());
  RC_ASSERT(least->packet <= kMostPacket && least->packets <= kMostPackets);
  RC_ASSERT(carried_by(*least) >= rate);
  RC_ASSERT(carried_by({least->packets, least->packet - 1_B}) < rate);
}

TEST(Usb, PastTheLargestNothingIsReserved) {
  EXPECT_TRUE(least_reservation(carried_by(kLargestReservation)));
  EXPECT_FALSE(least_reservation(carried_by(kLargestReservation) + BytesPerSecond::from_value(1)));
}

RC_GTEST_PROP(Usb, WhatFitsStaysWithinAHundredMicroseconds, ()) {
  const Reservation one = reservation_of(Bytes::from_value(*rc::gen::inRange(1, 3073)));
  RC_ASSERT(one.packet <= kMostPacket);
  const int fit = cameras_on_a_bus(one);
  RC_ASSERT(fit >= 1);
  RC_ASSERT(fit * ns(reserved_time(one)) <= 100'000 + 1e-6);
  RC_ASSERT((fit + 1) * ns(reserved_time(one)) > 100'000);
}

RC_GTEST_PROP(Usb, MoreBytesNeverTakeLess, ()) {
  const int bytes = *rc::gen::inRange(0, 1024);
  RC_ASSERT(packet_time(Bytes::from_value(bytes + 1)) >= packet_time(Bytes::from_value(bytes)));
}

// The contacts take theirs at any current: they are no shorter cable.
TEST(Usb, AnotherCurrentMovesTheLongestCableButNeverPastFiveMetres) {
  const OhmsPerMetre thin = usb_cables().front().a_metre();
  EXPECT_NEAR(longest_usb_cable(thin, 1_A)->value(), (0.125 - 0.06) / thin.value(), 1e-9);
  EXPECT_NEAR(longest_usb_cable(thin, 0.25_A)->value(), (0.5 - 0.06) / thin.value(), 1e-9);
  EXPECT_EQ(longest_usb_cable(thin, 10_mA), std::optional(5_m));
  EXPECT_EQ(longest_usb_cable(thin, 2.1_A), std::nullopt);
}

Answer answer(std::vector<Given> more) {
  std::vector<Given> given = {{"cameras", "4"}, {"width", "640"}, {"height", "480"}};
  given.insert(given.end(), more.begin(), more.end());
  const auto planned = plan(*find_subject("usb"), given);
  EXPECT_TRUE(planned) << planned.error().text();
  return planned ? planned->answer : Answer{};
}

TEST(Usb, FourCamerasThatAskForTheLargestFailAndAreToldWhatFits) {
  const Answer four = answer({{"rate", "30/s"}, {"format", "mjpeg"}});
  EXPECT_EQ(four.verdict(), Verdict::fails);
  EXPECT_EQ(four.nearest_limit()->key, "bus");
  EXPECT_EQ(four.figure("fit").value, 1);
  EXPECT_NE(four.nearest_limit()->remedy.find("4 controllers"), std::string::npos);
  EXPECT_EQ(answer({{"rate", "30/s"}, {"format", "mjpeg"}, {"buses", "4"}}).verdict(), Verdict::holds);
  EXPECT_EQ(answer({{"rate", "30/s"}, {"format", "mjpeg"}, {"reserve", "fitting"}}).verdict(),
            Verdict::holds);
}

TEST(Usb, WhatWasReadOffGoesBeforeWhatIsAssumed) {
  const Answer read = answer({{"rate", "30/s"}, {"format", "mjpeg"}, {"reserved", "1024 B"}});
  EXPECT_EQ(read.figure("fit").value, 4);
  EXPECT_EQ(read.verdict(), Verdict::holds);
}

TEST(Usb, APictureThatNoEndpointCarriesIsToldItsFastestRate) {
  const Answer large = answer({{"rate", "60/s"}, {"format", "yuy2"}, {"reserve", "fitting"}, {"buses", "4"}});
  EXPECT_EQ(large.nearest_limit()->key, "endpoint");
  EXPECT_EQ(large.verdict(), Verdict::fails);
  // Three packets of 1012 B: 39.53 a second, rounded down so that it holds when it is asked for.
  EXPECT_DOUBLE_EQ(large.figure("fastest").value, 39.5);
}

TEST(Usb, AHubWithoutASupplyStarvesACamera) {
  const Answer starved =
      answer({{"rate", "1/s"}, {"format", "mjpeg"}, {"buses", "4"}, {"port", "plain-hub"}});
  EXPECT_EQ(starved.nearest_limit()->key, "port");
  EXPECT_DOUBLE_EQ(starved.limit("port").bound, 0.1);
}

TEST(Usb, TheCableIsJudgedWhenItIsGiven) {
  const std::vector<Given> common = {{"rate", "1/s"}, {"format", "mjpeg"}, {"buses", "4"}};
  auto with = [&](std::string length) {
    auto given = common;
    given.push_back({"cable", std::move(length)});
    return answer(given);
  };
  EXPECT_EQ(with("0.5 m").verdict(), Verdict::holds);
  EXPECT_EQ(with("3 m").nearest_limit()->key, "cable");
  EXPECT_EQ(with("3 m").verdict(), Verdict::fails);
  EXPECT_EQ(answer(common).figures.size() + 2, with("3 m").figures.size());
}

RC_GTEST_PROP(Usb, TheLongestCableAndTheFastestRateHoldWhenTypedBackIn, ()) {
  const std::vector<Given> asked = {{"current", std::to_string(*rc::gen::inRange(10, 2000)) + " mA"},
                                    {"gauge", *rc::gen::element<std::string>("28", "26", "24", "22", "20")},
                                    {"format", *rc::gen::element<std::string>("yuy2", "mjpeg")},
                                    {"reserve", *rc::gen::element<std::string>("largest", "fitting")},
                                    {"rate", std::to_string(*rc::gen::inRange(1, 30)) + " /s"}};
  const Answer first = answer(asked);
  std::vector<Given> again = asked;
  again.pop_back();
  const Figure& fastest = first.figure("fastest");
  again.push_back({"rate", show_value(fastest.value, fastest.kind)});
  if (fastest.value <= 240) {
    RC_ASSERT(answer(again).limit("endpoint").verdict != Verdict::fails);
  }
  again = asked;
  const Figure& longest = first.figure("longest-cable");
  again.push_back({"cable", show_value(longest.value, longest.kind)});
  RC_ASSERT(answer(again).limit("cable").verdict != Verdict::fails);
  again.back().text = std::to_string(longest.value * 1.03 + 0.001) + " m";
  RC_ASSERT(answer(again).limit("cable").verdict == Verdict::fails);
}

TEST(Usb, AsManyCamerasAsItSaysFit) {
  for (const std::string_view reserve : {"largest", "fitting"}) {
    std::vector<Given> asked = {{"width", "640"},    {"height", "480"}, {"rate", "10/s"},
                                {"format", "mjpeg"}, {"buses", "2"},    {"reserve", std::string(reserve)},
                                {"cameras", "100"}};
    const auto first = plan(*find_subject("usb"), asked);
    ASSERT_TRUE(first);
    const double fit = first->answer.figure("fit").value;
    for (const int more : {0, 1}) {
      asked.back().text = std::to_string(static_cast<int>(fit) + more);
      const auto second = plan(*find_subject("usb"), asked);
      ASSERT_TRUE(second);
      EXPECT_EQ(second->answer.limit("bus").verdict == Verdict::fails, more == 1) << reserve;
    }
  }
}

TEST(Usb, WiFiBoardsStandBesideThem) {
  const Answer four = answer({{"rate", "5/s"}, {"format", "mjpeg"}, {"picture", "30 kB"}});
  const Table& table = four.tables.front();
  ASSERT_EQ(table.rows.size(), 5U);
  // As the subject radio has it with the same signal and margins.
  const auto radio = plan(*find_subject("radio"),
                          std::vector<Given>{{"cameras", "1"}, {"picture", "30 kB"}, {"rate", "5/s"}});
  ASSERT_TRUE(radio);
  EXPECT_EQ(table.rows[3][1], show_value(radio->answer.figure("fit").value, Kind::count));
}

}  // namespace
}  // namespace rookery::plan
