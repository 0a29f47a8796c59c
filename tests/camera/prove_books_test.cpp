// What came during an acceptance test, at times that the test drives, becomes the right measurements.
#include "camera/prove_books.h"

#include <gtest/gtest.h>

#include <turbojpeg.h>

#include "tests/support/picture.h"

namespace rookery::camera {
namespace {

using std::chrono::milliseconds;
using test::make_picture;

const base::MonoTime kBegan{std::chrono::hours(5)};

std::optional<std::chrono::duration<double>> no_readout(int) { return std::nullopt; }

// One grey picture, its level in the middle of the scale of `level`.
std::vector<std::byte> grey(int level) {
  std::vector<std::uint8_t> pixels(64 * 48, static_cast<std::uint8_t>(level));
  tjhandle encoder = tjInitCompress();
  unsigned char* jpeg = nullptr;
  unsigned long size = 0;
  tjCompress2(encoder, pixels.data(), 64, 0, 48, TJPF_GRAY, &jpeg, &size, TJSAMP_GRAY, 95, 0);
  const auto* first = reinterpret_cast<const std::byte*>(jpeg);
  std::vector<std::byte> bytes(first, first + size);
  tjFree(jpeg);
  tjDestroy(encoder);
  return bytes;
}

class Books : public testing::Test {
 protected:
  bool frame(int at_ms, std::vector<std::byte> bytes, std::optional<int> stamp_ms = std::nullopt,
             std::uint64_t connection = 1) {
    FrameOrigin origin;
    if (stamp_ms) origin.stamp = milliseconds(*stamp_ms);
    origin.connection = connection;
    ++status_.counters.received;
    ++status_.counters.published;
    return books_.frame(std::make_shared<const Frame>(std::move(bytes), base::WallTime{},
                                                      kBegan + milliseconds(at_ms), ++number_,
                                                      PixelSize{64, 48}, origin));
  }
  void still(int asked_ms, int arrived_ms, std::optional<int> stamp_ms = std::nullopt) {
    StillSeen seen;
    seen.asked = kBegan + milliseconds(asked_ms);
    seen.arrived = kBegan + milliseconds(arrived_ms);
    if (stamp_ms) seen.stamp = milliseconds(*stamp_ms);
    books_.still(seen);
  }
  Measurements close(int at_ms) { return books_.close(status_, kBegan + milliseconds(at_ms), no_readout); }

  ProveBooks books_{kBegan};
  Status status_;
  std::uint64_t number_ = 0;
};

TEST_F(Books, ANewConnectionMakesNoIntervalButTimeWithoutAPicture) {
  for (int i = 0; i < 30; ++i) frame(i * 100, make_picture(64, 48, static_cast<unsigned>(i)), {}, 1);
  for (int i = 0; i < 30; ++i) frame(10'000 + i * 100, make_picture(64, 48, static_cast<unsigned>(i)), {}, 2);
  const Measurements got = close(13'000);
  EXPECT_EQ(got.intervals.count, 58U);
  EXPECT_EQ(got.intervals.longest, Millis(100));
  EXPECT_DOUBLE_EQ(got.longest_without_s, 7.1);
  EXPECT_EQ(got.restarts, 0);
  EXPECT_FALSE(got.stamped);
}

TEST_F(Books, PicturesAskedForOneByOneMayEachHaveAConnection) {
  books_.asked_one_by_one();
  for (int i = 0; i < 30; ++i) frame(i * 100, make_picture(64, 48, 1), {}, static_cast<std::uint64_t>(i));
  EXPECT_EQ(close(3'000).intervals.count, 29U);
}

TEST_F(Books, WhatWeInterruptOurselvesIsNoOutage) {
  for (int i = 0; i < 5; ++i) frame(i * 100, make_picture(64, 48, 1), {}, 1);
  books_.interrupted_by_us();
  frame(9'000, make_picture(64, 48, 2), {}, 2);
  EXPECT_DOUBLE_EQ(close(9'100).longest_without_s, 0.1);
}

TEST_F(Books, ABoardThatFellSilentIsWithoutAPictureUntilTheEnd) {
  for (int i = 0; i < 5; ++i) frame(i * 100, make_picture(64, 48, 1));
  EXPECT_DOUBLE_EQ(close(20'400).longest_without_s, 20);
}

TEST_F(Books, AClockThatStepsBackIsARestart) {
  for (int i = 0; i < 20; ++i) frame(i * 100, make_picture(64, 48, 1), 50'000 + i * 100, 1);
  for (int i = 0; i < 20; ++i) frame(5'000 + i * 100, make_picture(64, 48, 1), 900 + i * 100, 2);
  const Measurements got = close(7'000);
  EXPECT_EQ(got.restarts, 1);
  EXPECT_TRUE(got.stamped);
}

TEST_F(Books, PhasesAreKeptApart) {
  for (int i = 0; i < 30; ++i) frame(i * 100, make_picture(64, 48, static_cast<unsigned>(i)));
  books_.phase(ProvePhase::lamp);
  for (int i = 0; i < 30; ++i) frame(4'000 + i * 250, make_picture(64, 48, static_cast<unsigned>(i)));
  EXPECT_EQ(books_.intervals(ProvePhase::plain).p50, Millis(100));
  EXPECT_EQ(books_.intervals(ProvePhase::plain).longest, Millis(100));
  EXPECT_EQ(books_.intervals(ProvePhase::lamp).p50, Millis(250));
  EXPECT_EQ(books_.intervals(ProvePhase::lamp).count, 29U);
}

TEST_F(Books, LooksAreAsFarApartAsWasSaid) {
  int looks = 0;
  for (int i = 0; i < 100; ++i)
    looks += frame(i * 100, make_picture(64, 48, static_cast<unsigned>(i))) ? 1 : 0;
  EXPECT_EQ(looks, 10);
  books_.set_look_every(std::chrono::seconds(5));
  looks = 0;
  for (int i = 100; i < 200; ++i)
    looks += frame(i * 100, make_picture(64, 48, static_cast<unsigned>(i))) ? 1 : 0;
  EXPECT_EQ(looks, 2);
}

TEST_F(Books, SettlingAfterARestartCountsFromTheBoardsBoot) {
  for (int i = 0; i < 30; ++i) frame(i * 100, grey(120), 60'000 + i * 100, 1);
  // Back 2 s after its boot; the light comes up until 3 s after it.
  for (int i = 0; i < 100; ++i) {
    const int since_boot_ms = 2'000 + i * 100;
    frame(10'000 + i * 100, grey(since_boot_ms < 3'000 ? 60 : 120), since_boot_ms, 2);
  }
  const Measurements got = close(20'000);
  ASSERT_TRUE(got.settling && got.settling->time);
  EXPECT_TRUE(got.settling->after_restart);
  EXPECT_NEAR(got.settling->time->count(), 3.0, 0.01);
}

TEST_F(Books, WithoutARestartSettlingIsTheStreams) {
  for (int i = 0; i < 60; ++i) frame(i * 100, grey(i < 12 ? 60 : 120), 600'000 + i * 100);
  const Measurements got = close(6'000);
  ASSERT_TRUE(got.settling && got.settling->time);
  EXPECT_FALSE(got.settling->after_restart);
  EXPECT_NEAR(got.settling->time->count(), 1.2, 0.01);
}

TEST_F(Books, TheSameBytesForTwoSecondsAreAFrozenPicture) {
  for (int i = 0; i < 50; ++i) frame(i * 100, make_picture(64, 48, i < 20 ? static_cast<unsigned>(i) : 20));
  const Measurements got = close(5'000);
  EXPECT_EQ(got.frozen_times, 1);
  EXPECT_DOUBLE_EQ(got.frozen_longest_s, 2.9);
}

TEST_F(Books, SagComparesLargePicturesWithSmallOnes) {
  // Every second picture is ten times as large and takes twice as long.
  int at_ms = 0;
  for (int i = 0; i < 80; ++i) {
    const bool large = i % 2 == 1;
    at_ms += large ? 200 : 100;
    auto bytes = make_picture(64, 48, static_cast<unsigned>(i));
    bytes.resize(bytes.size() + (large ? 20'000 : 0));  // padding
    frame(at_ms, std::move(bytes));
  }
  const Measurements got = close(at_ms);
  ASSERT_TRUE(got.sag) << got.why_no_sag;
  EXPECT_DOUBLE_EQ(got.sag->share, 0.5);
  EXPECT_GT(got.sag->large_bytes, 20'000);
}

TEST_F(Books, PicturesOfOneSizeTellNothingOfSag) {
  for (int i = 0; i < 80; ++i) frame(i * 100, make_picture(64, 48, 7));
  const Measurements got = close(8'000);
  EXPECT_FALSE(got.sag);
  EXPECT_NE(got.why_no_sag.find("nearly one size"), std::string::npos) << got.why_no_sag;
}

net::TcpVitals vitals(std::uint64_t bytes, std::uint32_t segments, std::uint32_t out_of_order) {
  net::TcpVitals out;
  out.round_trip = std::chrono::microseconds(6'000);
  out.bytes_in = bytes;
  out.segments_in = segments;
  out.out_of_order_in = out_of_order;
  return out;
}

TEST_F(Books, TcpIsSummedOverConnections) {
  frame(0, make_picture(64, 48, 1));
  books_.tcp(vitals(1'000, 10, 1), kBegan + milliseconds(1'000));
  books_.tcp(vitals(126'000, 110, 3), kBegan + milliseconds(2'000));
  books_.tcp(std::nullopt, kBegan + milliseconds(3'000));
  books_.tcp(vitals(500, 5, 0), kBegan + milliseconds(4'000));
  books_.tcp(vitals(125'500, 105, 2), kBegan + milliseconds(5'000));
  const Measurements got = close(5'000);
  EXPECT_EQ(got.tcp.segments_in, 215U);
  EXPECT_EQ(got.tcp.out_of_order_in, 5U);
  EXPECT_DOUBLE_EQ(got.tcp.bit_per_s, 1e6);
  EXPECT_EQ(got.tcp.round_trip, Millis(6));
}

TEST_F(Books, StillsThatFailAreCountedWithTheirReason) {
  frame(0, make_picture(64, 48, 1));
  still(0, 100);
  still(200, 500);
  books_.still(base::Error(base::ErrorCode::timed_out, "GET x", "nothing came"));
  const Measurements got = close(100);
  EXPECT_EQ(got.stills.asked, 3);
  EXPECT_EQ(got.stills.answered, 2);
  EXPECT_EQ(got.stills.p50, Millis(100));
  EXPECT_EQ(got.stills.longest, Millis(300));
  EXPECT_NE(got.stills.why_not.find("nothing came"), std::string::npos);
}

// The board's clock began at −50 s; its pictures are 40 ms on their way.
TEST_F(Books, TheAgeOfStillsIsToldByTheirStampsAgainstThoseOfTheStream) {
  still(0, 160, 42'000);    // of 8.12 s before: nobody has asked for long
  still(500, 660, 50'500);  // of when it was asked for
  still(1000, 1160, 51'000);
  for (int i = 0; i < 30; ++i)
    frame(2'000 + i * 100, make_picture(64, 48, 1), 51'960 + i * 100 - (i % 3) * 20);
  const Measurements got = close(6'000);
  ASSERT_TRUE(got.stills.oldest) << got.stills.why_no_age;
  EXPECT_NEAR(got.stills.oldest->count(), 8'120, 1e-6);
  EXPECT_NE(got.stills.age_evidence.find("8120 ms for the oldest of 3, 120 ms in the median"),
            std::string::npos)
      << got.stills.age_evidence;
}

TEST_F(Books, TheAgeOfStillsIsNotKnownWithoutAClockForBoth) {
  still(0, 160);
  for (int i = 0; i < 30; ++i) frame(2'000 + i * 100, make_picture(64, 48, 1), 52'000 + i * 100);
  EXPECT_FALSE(close(6'000).stills.oldest);
  EXPECT_EQ(close(6'000).stills.why_no_age, "its stills carry no stamp");
}

TEST_F(Books, WithoutStampsInTheStreamTheAgeOfStillsIsNotKnown) {
  still(0, 160, 50'000);
  for (int i = 0; i < 30; ++i) frame(2'000 + i * 100, make_picture(64, 48, 1));
  EXPECT_NE(close(6'000).stills.why_no_age.find("its stream carries no stamps"), std::string::npos);
}

TEST_F(Books, ABoardThatRestartedAfterItsStillsTellsNothingOfTheirAge) {
  still(0, 160, 50'000);
  for (int i = 0; i < 30; ++i) frame(2'000 + i * 100, make_picture(64, 48, 1), 900 + i * 100);
  EXPECT_FALSE(close(6'000).stills.oldest);
  EXPECT_NE(close(6'000).stills.why_no_age.find("restarted"), std::string::npos);
}

TEST_F(Books, PicturesOfOtherSizesAreNotMixedWithTheBoardsOwn) {
  for (int i = 0; i < 30; ++i) frame(i * 100, make_picture(64, 48, static_cast<unsigned>(i)));
  books_.phase(ProvePhase::sizes);
  for (int i = 0; i < 10; ++i) frame(4'000 + i * 250, make_picture(320, 240, static_cast<unsigned>(i)));
  EXPECT_EQ(books_.intervals_now().count, 9U);
  EXPECT_EQ(books_.intervals_now().p50, Millis(250));
  EXPECT_GT(books_.bytes_now(), 2'000);
  books_.phase(ProvePhase::plain);
  const Measurements got = close(7'000);
  EXPECT_EQ(got.intervals.count, 29U);
  EXPECT_LT(got.bytes.most, 2'500);
  EXPECT_EQ(got.first_still->size.width_px, 64);
}

TEST_F(Books, OfNothingAreEmpty) {
  const Measurements got = close(1'000);
  EXPECT_EQ(got.intervals.count, 0U);
  EXPECT_FALSE(got.settling);
  EXPECT_FALSE(got.banding);
  EXPECT_FALSE(got.noise);
  EXPECT_FALSE(got.pixels_told);
  EXPECT_EQ(got.first_still, nullptr);
  EXPECT_EQ(got.longest_without_s, 0);
}

}  // namespace
}  // namespace rookery::camera
