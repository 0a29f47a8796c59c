#include "camera/intervals.h"

#include <gtest/gtest.h>

namespace rookery::camera {
namespace {

using std::chrono::milliseconds;

std::vector<ArrivedAt> at_ms(const std::vector<int>& times) {
  std::vector<ArrivedAt> out;
  for (const int time : times) out.push_back({base::MonoTime{} + milliseconds(time), std::nullopt, false});
  if (!out.empty()) out.front().begins = true;
  return out;
}

std::vector<ArrivedAt> even(int count, int apart_ms) {
  std::vector<int> times;
  for (int i = 0; i < count; ++i) times.push_back(i * apart_ms);
  return at_ms(times);
}

TEST(Percentile, IsTheNearestRank) {
  EXPECT_EQ(percentile({15, 20, 35, 40, 50}, 0.05), 15);
  EXPECT_EQ(percentile({15, 20, 35, 40, 50}, 0.30), 20);
  EXPECT_EQ(percentile({15, 20, 35, 40, 50}, 0.40), 20);
  EXPECT_EQ(percentile({15, 20, 35, 40, 50}, 0.50), 35);
  EXPECT_EQ(percentile({15, 20, 35, 40, 50}, 1.00), 50);
  EXPECT_EQ(percentile({7}, 0.99), 7);
}

TEST(Intervals, OfEvenPicturesHaveNoJitterAndNoGap) {
  const Intervals got = compute_intervals(even(101, 100));
  EXPECT_EQ(got.count, 100U);
  EXPECT_DOUBLE_EQ(got.frames_per_s, 10);
  EXPECT_EQ(got.p50, Millis(100));
  EXPECT_EQ(got.p99, Millis(100));
  EXPECT_EQ(got.longest, Millis(100));
  EXPECT_EQ(got.jitter, Millis(0));
  EXPECT_EQ(got.gap_bound, Millis(300));
  EXPECT_EQ(got.gaps, 0U);
}

TEST(Intervals, AGapIsLongerThanThriceTheMedian) {
  auto arrivals = even(50, 100);
  for (std::size_t i = 20; i < arrivals.size(); ++i) arrivals[i].at += milliseconds(201);
  for (std::size_t i = 40; i < arrivals.size(); ++i) arrivals[i].at += milliseconds(200);
  const Intervals got = compute_intervals(arrivals);
  EXPECT_EQ(got.gaps, 1U);
  EXPECT_EQ(got.longest, Millis(301));
}

TEST(Intervals, WhatScattersHasAWiderBound) {
  std::vector<int> times = {0};
  for (int i = 0; i < 40; ++i) times.push_back(times.back() + (i % 2 == 0 ? 60 : 140));
  const Intervals got = compute_intervals(at_ms(times));
  // Median 60 (nearest rank), MAD 80 or 0: whichever, the bound is never below thrice the median.
  EXPECT_GE(got.gap_bound, Millis(180));
  EXPECT_EQ(got.p95, Millis(140));
}

TEST(Intervals, AReconnectionIsNoInterval) {
  auto arrivals = even(20, 100);
  for (std::size_t i = 10; i < arrivals.size(); ++i) arrivals[i].at += std::chrono::seconds(30);
  arrivals[10].begins = true;
  const Intervals got = compute_intervals(arrivals);
  EXPECT_EQ(got.count, 18U);
  EXPECT_EQ(got.longest, Millis(100));
  EXPECT_EQ(got.gaps, 0U);
}

// RFC 3550 §6.4.1: J(i) = J(i−1) + (|D(i−1,i)| − J(i−1))/16.
TEST(Intervals, JitterIsTheEstimatorOfRfc3550) {
  auto arrivals = at_ms({0, 100, 216, 300});
  for (std::size_t i = 0; i < arrivals.size(); ++i) arrivals[i].stamp = milliseconds(100 * i);
  const Intervals got = compute_intervals(arrivals);
  EXPECT_TRUE(got.jitter_by_stamps);
  // D = 0, 16, −16 ms: J = 0, 1, 1 + 15/16.
  EXPECT_DOUBLE_EQ(got.jitter_most.count(), 1.9375);
  EXPECT_DOUBLE_EQ(got.jitter.count(), (0 + 1 + 1.9375) / 3);
}

TEST(Intervals, StampsTakeTheBoardsOwnUnevennessOut) {
  auto arrivals = at_ms({0, 50, 200, 250, 400});
  for (auto& one : arrivals)
    one.stamp = std::chrono::duration_cast<base::Microseconds>(one.at.time_since_epoch());
  EXPECT_EQ(compute_intervals(arrivals).jitter, Millis(0));
  arrivals[3].stamp = base::Microseconds(1);  // another clock
  EXPECT_FALSE(compute_intervals(arrivals).jitter_by_stamps);
}

TEST(Intervals, OfNothingAreNothing) {
  EXPECT_EQ(compute_intervals({}).count, 0U);
  EXPECT_EQ(compute_intervals(even(1, 100)).count, 0U);
  EXPECT_EQ(compute_intervals(even(1, 100)).frames_per_s, 0);
}

}  // namespace
}  // namespace rookery::camera
