// The jobs that a watch is scored on.
#include "bench/jobs/job_cases.h"

#include <map>

#include <gtest/gtest.h>

#include "bench/jobs/job_stills.h"

namespace rookery::bench {
namespace {

using sim::Mishap;

const sim::JobEvent* find(const JobCase& made, Mishap what) {
  for (const sim::JobEvent& event : made.job.events) {
    if (event.what == what) return &event;
  }
  return nullptr;
}

TEST(JobCases, WhatIsHeldOutIsSeenInNoOpenJobAndTheOtherWayRound) {
  for (int i = 0; i < kAllCases; ++i) {
    const JobCase made = job_case(i);
    const bool out = i >= kOpenCases;
    EXPECT_EQ(static_cast<int>(*made.job.kind) >= 6, out) << made.story;
    if (const auto* off = find(made, Mishap::came_off)) {
      EXPECT_EQ(off->manner >= 4, out) << made.story;
    }
    if (const auto* mess = find(made, Mishap::mess)) {
      EXPECT_EQ(mess->manner >= 2, out) << made.story;
    }
  }
}

TEST(JobCases, AreLongEnoughAndMostOfTheTimeNothingIsToBeStopped) {
  double clean = 0;
  std::map<Mishap, int> seen;
  for (int i = 0; i < kOpenCases; ++i) {
    const JobCase made = job_case(i);
    EXPECT_GT(made.work_s, 1'500) << made.story;
    EXPECT_LT(made.ends_s - made.job.idle_s, 6'500) << made.story;
    double until = made.ends_s;
    for (const sim::JobEvent& event : made.job.events) {
      ++seen[event.what];
      const bool stops = event.what == Mishap::came_off || event.what == Mishap::stall ||
                         event.what == Mishap::knocked || event.what == Mishap::covered ||
                         event.what == Mishap::unsharp;
      if (stops) until = std::min(until, event.at_s);
    }
    clean += (until - made.job.idle_s) / 3'600;
  }
  EXPECT_GT(clean, 200);
  for (int i = 0; i < sim::kMishaps; ++i) EXPECT_GE(seen[static_cast<Mishap>(i)], 6) << i;
}

TEST(JobCases, CanAllBeMade) {
  for (int i = 0; i < kAllCases; i += 11) {
    const JobCase made = job_case(i);
    const auto scene = sim::make_printer_scene(made.scene, made.seed, {160, 120}, made.job);
    ASSERT_TRUE(scene) << made.story << ": " << scene.error().text();
  }
}

TEST(JobStills, GoFromBeforeTheBeginningToTheEndAndTellTheirTruthInSecondsOfTheJob) {
  int number = 0;
  while (job_case(number).job.idle_s == 0 || find(job_case(number), Mishap::came_off) == nullptr) ++number;
  const JobCase made = job_case(number);
  JobStills stills(made, "");
  const auto& moments = stills.moments();
  EXPECT_NEAR(moments.front().at_s, -made.job.idle_s, 0.5);
  EXPECT_NEAR(moments.back().at_s, made.ends_s - made.job.idle_s, 6);
  EXPECT_TRUE(moments.front().truth.idle);
  EXPECT_TRUE(moments.back().truth.finished);
  ASSERT_TRUE(moments.back().truth.detached_since_s);
  EXPECT_NEAR(*moments.back().truth.detached_since_s, find(made, Mishap::came_off)->at_s - made.job.idle_s,
              1e-6);
  const jpeg::LumaGrid first = stills.next();
  EXPECT_EQ(first.width, 80);
  EXPECT_EQ(first.height, 60);
  EXPECT_FALSE(first.damaged);
}

}  // namespace
}  // namespace rookery::bench
