// Readings every ten seconds become minutes, and minutes become longer spans.
#include "camera/vitals.h"

#include <gtest/gtest.h>

namespace rookery::camera {
namespace {

using namespace std::chrono_literals;

const base::WallTime kNoon = base::parse_rfc3339("2026-03-01T12:00:00Z").value();

class VitalsBookTest : public testing::Test {
 protected:
  // Ten more seconds, in which the counters grew as `reading` says by then.
  void ten_seconds() { after(10s); }
  void after(std::chrono::seconds time) {
    now_ += time;
    if (auto minute = book_.read(reading, now_, time)) minutes.push_back(*minute);
    reading.arrivals = {};
  }
  VitalsBook::Reading reading{.state = State::live, .counters = {}, .arrivals = {}, .light = {}};
  std::vector<VitalsBook::Minute> minutes;

 private:
  VitalsBook book_;
  base::WallTime now_ = kNoon - 10s;
};

TEST_F(VitalsBookTest, AMinuteSaysWhatHappenedInIt) {
  ten_seconds();  // the first reading is what the next are counted from
  for (int i = 0; i < 5; ++i) {
    reading.counters.published += 100;
    reading.counters.received += 101;
    reading.counters.rejected[0] += 1;
    reading.counters.bytes += 100 * 25'000;
    reading.counters.connects += i == 2 ? 1 : 0;
    reading.counters.dropouts += i == 2 ? 1 : 0;
    reading.arrivals = {.intervals = 100, .longest = i == 2 ? 2'500ms : 150ms, .jitter = 8ms};
    reading.light = 100 + i;
    reading.state = i == 2 ? State::waiting : State::live;
    ten_seconds();
  }
  ASSERT_TRUE(minutes.empty());
  ten_seconds();  // 12:01:00 begins the next
  ASSERT_EQ(minutes.size(), 1u);
  EXPECT_EQ(minutes[0].at, kNoon);
  const Vitals& vitals = minutes[0].vitals;
  EXPECT_DOUBLE_EQ(vitals.frames_per_s, 10);
  EXPECT_DOUBLE_EQ(vitals.bytes_a_frame, 25'000);
  EXPECT_DOUBLE_EQ(vitals.live, 0.8);
  EXPECT_DOUBLE_EQ(vitals.longest_gap_s, 2.5);
  EXPECT_DOUBLE_EQ(vitals.jitter_s, 0.008);
  EXPECT_EQ(vitals.broken, 5);
  EXPECT_EQ(vitals.connects, 1);
  EXPECT_EQ(vitals.dropouts, 1);
  EXPECT_DOUBLE_EQ(vitals.light.value(), 102);
}

TEST_F(VitalsBookTest, OfACameraThatIsOffThereIsNoMinute) {
  reading.state = State::off;
  for (int i = 0; i < 30; ++i) ten_seconds();
  EXPECT_TRUE(minutes.empty());
}

TEST_F(VitalsBookTest, AMinuteOfWhichLessThanHalfWasMeasuredIsLeftOut) {
  reading.state = State::off;
  for (int i = 0; i < 4; ++i) ten_seconds();  // 12:00:30
  reading.state = State::live;
  for (int i = 0; i < 9; ++i) ten_seconds();
  ASSERT_EQ(minutes.size(), 1u);
  EXPECT_EQ(minutes[0].at, kNoon + 1min);
}

TEST_F(VitalsBookTest, TheComputerSleptAndNoMinuteSaysSo) {
  ten_seconds();
  after(8h + 30s);
  for (int i = 0; i < 12; ++i) ten_seconds();
  ASSERT_FALSE(minutes.empty());
  EXPECT_EQ(minutes[0].at, kNoon + 8h + 1min) << "the one in which it woke was measured for less than half";
}

TEST_F(VitalsBookTest, ACameraThatSendsNothingIsMeasuredAsThat) {
  reading.state = State::waiting;
  for (int i = 0; i < 8; ++i) ten_seconds();
  ASSERT_EQ(minutes.size(), 1u);
  EXPECT_EQ(minutes[0].vitals, Vitals{});
}

TEST(VitalsSum, RatesAreMeansCountsAreSumsAndTheLongestGapStays) {
  VitalsSum sum;
  EXPECT_TRUE(sum.empty());
  sum.add({.live = 1,
           .frames_per_s = 10,
           .bytes_a_frame = 20'000,
           .longest_gap_s = 0.2,
           .jitter_s = 0.01,
           .broken = 1,
           .connects = 0,
           .dropouts = 0,
           .light = 100});
  sum.add({.live = 0,
           .frames_per_s = 0,
           .bytes_a_frame = 0,
           .longest_gap_s = 60,
           .jitter_s = 0.03,
           .broken = 2,
           .connects = 3,
           .dropouts = 1,
           .light = {}});
  const Vitals mean = sum.mean();
  EXPECT_DOUBLE_EQ(mean.live, 0.5);
  EXPECT_DOUBLE_EQ(mean.frames_per_s, 5);
  EXPECT_DOUBLE_EQ(mean.bytes_a_frame, 20'000) << "a minute without pictures says nothing of their size";
  EXPECT_DOUBLE_EQ(mean.longest_gap_s, 60);
  EXPECT_DOUBLE_EQ(mean.jitter_s, 0.02);
  EXPECT_EQ(mean.broken, 3);
  EXPECT_EQ(mean.connects, 3);
  EXPECT_EQ(mean.dropouts, 1);
  EXPECT_DOUBLE_EQ(mean.light.value(), 100);
}

}  // namespace
}  // namespace rookery::camera
