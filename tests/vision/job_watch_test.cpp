// What a watch tells of a job: its end, its stops, what came loose, how it grows.
#include "vision/job_watch.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "tests/vision/job_machine.h"

namespace rookery::vision {
namespace {

TEST_F(JobWatchTest, AtWorkNothingIsToldAndThePhaseSaysSo) {
  EXPECT_EQ(watch.now().phase, JobPhase::learning);
  work(900);
  EXPECT_EQ(said(), "");
  EXPECT_EQ(watch.now().phase, JobPhase::working);
  EXPECT_GT(watch.now().moving_share, 0);
}

TEST_F(JobWatchTest, AHeadThatGoesAsideHasFinished) {
  work(900);
  const double ended_s = at_s;
  rest_at(1, 2, 200);
  ASSERT_EQ(said(), "finished;");
  EXPECT_LE(all[0].at_s - ended_s, 120);
  EXPECT_TRUE(all[0].sure);
  EXPECT_LE(all[0].before_s, ended_s + 5);
  EXPECT_EQ(watch.now().phase, JobPhase::finished);
  rest_at(1, 2, 3600);
  EXPECT_EQ(said(), "finished;") << "a finished job is not still";
}

TEST_F(JobWatchTest, AHeadThatStopsOverTheWorkStandsStill) {
  work(900);
  const double stopped_s = at_s;
  rest_at(18, 15, 400);
  ASSERT_EQ(said(), "still;");
  EXPECT_NEAR(all[0].at_s - stopped_s, 300, 15);
  EXPECT_TRUE(all[0].sure);
  work(120);
  EXPECT_EQ(said(), "still;no still;");
  EXPECT_GE(watch.facts().longest_quiet_s, 390);
}

// Somebody looks after it, touches nothing and goes: it has stood still all the time.
TEST_F(JobWatchTest, AHandThatLeavesAllAsItWasDoesNotEndARest) {
  work(900);
  const double stopped_s = at_s;
  rest_at(18, 15, 200);
  for (int i = 0; i < 4; ++i) give(machine.still(14 + 3 * i, 10 + i));
  rest_at(18, 15, 200);
  ASSERT_EQ(said(), "still;");
  EXPECT_NEAR(all[0].at_s - stopped_s, 300, 15);
  EXPECT_LE(all[0].before_s, stopped_s + 5);
}

TEST_F(JobWatchTest, AHandThatMovesSomethingHasEndedARest) {
  work(900);
  rest_at(18, 15, 200);
  for (int i = 0; i < 4; ++i) give(machine.still(14 + 3 * i, 10 + i));
  rest_at(13, 18, 200);
  EXPECT_EQ(said(), "");
}

TEST_F(JobWatchTest, BandsOfMainsLightAreNoMovement) {
  int still = 0;
  const auto banded = [&](jpeg::LumaGrid grid) {
    for (std::size_t i = 0; i < grid.cells.size(); ++i) {
      const double row = static_cast<double>(i / kWidth) / kHeight;
      grid.cells[i] =
          static_cast<std::uint8_t>(grid.cells[i] * (1 + 0.06 * std::sin(6.28 * (3.2 * row + 0.7 * still))));
    }
    ++still;
    return grid;
  };
  for (int i = 0; i < 180; ++i) {
    machine.grow(i / 24.0);
    give(banded(machine.working()));
  }
  EXPECT_EQ(said(), "");
  for (int i = 0; i < 24; ++i) give(banded(machine.still(1, 2)));
  EXPECT_EQ(said(), "finished;");
}

TEST_F(JobWatchTest, APauseAsideIsTakenBackWhenItGoesOn) {
  work(900);
  rest_at(1, 2, 150);
  work(120);
  EXPECT_EQ(said(), "finished;no finished;");
  EXPECT_EQ(watch.now().phase, JobPhase::working);
}

TEST_F(JobWatchTest, FarBeforeItsTimeItIsNotSure) {
  watch = JobWatch::make({.still_every_s = 5, .still_after_s = 300, .expected_s = 7200}).value();
  work(900);
  rest_at(1, 2, 150);
  ASSERT_EQ(said(), "finished;");
  EXPECT_FALSE(all[0].sure);
}

TEST_F(JobWatchTest, AGoodJobsPauseIsNoReport) {
  watch =
      JobWatch::make({.still_every_s = 5, .still_after_s = 300, .good = {{.longest_quiet_s = 500}}}).value();
  work(900);
  rest_at(18, 15, 560);
  EXPECT_EQ(said(), "");
  rest_at(18, 15, 60);
  EXPECT_EQ(said(), "still;");
}

TEST_F(JobWatchTest, APartThatComesOffIsToldOnce) {
  work(1200);
  ASSERT_EQ(said(), "");
  const double off_s = at_s;
  machine.part_x = 31;
  work(60);
  ASSERT_EQ(said(), "loose;");
  EXPECT_LE(all[0].at_s - off_s, 60);
  EXPECT_LE(all[0].before_s, off_s);
  EXPECT_TRUE(all[0].sure);
  EXPECT_GT(all[0].where.x + all[0].where.width, 34.0 / kWidth);
  EXPECT_TRUE(watch.looks_so(JobSign::loose));
  // It lies there for the rest of the job: that it came off stays told.
  work(1800);
  EXPECT_EQ(said(), "loose;");
  EXPECT_TRUE(watch.stands(JobSign::loose));
  EXPECT_FALSE(watch.looks_so(JobSign::loose)) << "after five minutes no look can say so";
}

// A report, right or wrong, does not leave it deaf for the rest of the job.
TEST_F(JobWatchTest, SomethingElseThatComesLaterIsToldAgainAndIsLessSure) {
  work(1200);
  machine.part_x = 31;
  work(700);
  ASSERT_EQ(said(), "loose;");
  const double again_s = at_s;
  machine.part_x = 42;
  work(60);
  ASSERT_EQ(said(), "loose;no loose;loose;");
  EXPECT_EQ(all[1].at_s, all[2].at_s);
  EXPECT_LE(all[2].at_s - again_s, 60);
  EXPECT_LE(all[2].before_s, again_s);
  EXPECT_FALSE(all[2].sure);
  EXPECT_TRUE(watch.looks_so(JobSign::loose));
}

TEST_F(JobWatchTest, WhatLayOnTheBedForAWhileIsTakenBack) {
  work(1200);
  machine.part_x = 31;
  work(90);
  ASSERT_EQ(said(), "loose;");
  machine.part_x = 16;
  work(60);
  EXPECT_FALSE(watch.looks_so(JobSign::loose)) << "no second look confirms it";
  work(400);
  EXPECT_EQ(said(), "loose;no loose;");
}

TEST_F(JobWatchTest, AnArmFromTheEdgeIsNoPartThatCameOff) {
  work(1200);
  for (int i = 0; i < 24; ++i) {
    jpeg::LumaGrid grid = machine.working();
    for (int y = 14; y < 18; ++y) {
      for (int x = 0; x < 12 + i % 3; ++x) grid.cells[static_cast<std::size_t>(y * kWidth + x)] = 240;
    }
    give(grid);
  }
  work(300);
  EXPECT_EQ(said(), "");
}

// As in a change of spool: what is new is the head where it never is, and nothing moves where it works.
TEST_F(JobWatchTest, AHeadAsideIsNoPartThatCameOff) {
  work(1200);
  for (int i = 0; i < 30; ++i) give(machine.still(1 + i % 2, 2));
  work(300);
  EXPECT_EQ(said().find("loose"), std::string::npos) << said();
}

// It may be a smaller part, or a fan beside a machine that stands: nobody is asked for a pause.
TEST_F(JobWatchTest, OfAMovementThatBecomesSmallerItIsNotSure) {
  work(900);
  for (int i = 0; i < 240; ++i) give(machine.still(18 + i % 2, 15));
  ASSERT_EQ(said(), "still;");
  EXPECT_FALSE(all[0].sure);
}

TEST_F(JobWatchTest, AnEmptyRoomSaysNothing) {
  rest_at(-9, -9, 7200);
  EXPECT_EQ(said(), "");
  EXPECT_EQ(watch.now().phase, JobPhase::learning);
}

TEST_F(JobWatchTest, ThePartGrowsAndNeverShrinksMuch) {
  work(3600);
  const JobNow now = watch.now();
  EXPECT_GT(now.grown_share, 0.02);
  EXPECT_LT(now.grown_share, 0.3);
  const auto growth = watch.growth();
  ASSERT_EQ(growth.size(), std::size_t{kWidth * kHeight});
  EXPECT_GE(growth[20 * kWidth + 20], 128);  // in the part
  EXPECT_LT(growth[2 * kWidth + 2], 128);    // on the wall
}

TEST_F(JobWatchTest, WhatCannotBeUsedIsPassedOver) {
  work(300);
  const auto before = watch.save();
  jpeg::LumaGrid damaged = machine.working();
  damaged.damaged = true;
  EXPECT_TRUE(watch.add(damaged, at_s + 5).empty());
  EXPECT_TRUE(watch.add(machine.working(), at_s).empty()) << "not younger";
  EXPECT_TRUE(watch.add(machine.working(), std::nan("")).empty());
  EXPECT_TRUE(watch.add({}, at_s + 6).empty());
  EXPECT_EQ(watch.save(), before);
}

// Each would else be an end and a new report, with a notice and a wish to pause of its own.
TEST_F(JobWatchTest, HandsThatComeAndGoAreNoNewReports) {
  work(900);
  rest_at(18, 15, 400);
  ASSERT_EQ(said(), "still;");
  for (int visit = 0; visit < 5; ++visit) {
    for (int i = 0; i < 3; ++i) give(machine.still(14 + 3 * i, 10 + i));
    EXPECT_FALSE(watch.looks_so(JobSign::still)) << "something moves";
    rest_at(18, 15, 120);
  }
  EXPECT_EQ(said(), "still;");
  work(60);
  EXPECT_EQ(said(), "still;no still;");
}

TEST(JobWatch, OptionsOutsideTheirRangeAreNamed) {
  EXPECT_FALSE(JobWatch::make({.still_every_s = 0}));
  EXPECT_FALSE(JobWatch::make({.still_every_s = std::nan("")}));
  EXPECT_FALSE(JobWatch::make({.still_after_s = 5}));
  EXPECT_FALSE(JobWatch::make({.expected_s = -1}));
  EXPECT_FALSE(JobWatch::make({.bed = PictureShare{2, 0, 1, 1}}));
}

TEST(JobSignNames, ComeBackAsTheyAre) {
  for (const JobSign sign : {JobSign::finished, JobSign::still, JobSign::knocked, JobSign::covered,
                             JobSign::unsharp, JobSign::loose})
    EXPECT_EQ(job_sign_named(name_of(sign)), sign);
  EXPECT_FALSE(job_sign_named("none"));
}

TEST(WorkSense, AMachineThatBeginsAfterARestIsTold) {
  Machine machine;
  WorkSense sense;
  std::optional<double> began;
  for (int i = 0; i < 60; ++i) EXPECT_FALSE(sense.add(machine.still(1, 2), 3.0 * i));
  for (int i = 60; i < 120 && !began; ++i) began = sense.add(machine.working(), 3.0 * i);
  ASSERT_TRUE(began);
  EXPECT_NEAR(*began, 180, 6);
  for (int i = 120; i < 400; ++i) EXPECT_FALSE(sense.add(machine.working(), 3.0 * i)) << "told once";
}

TEST(WorkSense, WhoWalksByIsNotTold) {
  Machine machine;
  WorkSense sense;
  for (int i = 0; i < 400; ++i) {
    const bool comes = i % 60 > 48;  // for half a minute of three
    const auto grid = comes ? machine.still(i % 60 - 40, 10) : machine.still(-9, -9);
    EXPECT_FALSE(sense.add(grid, 3.0 * i)) << i;
  }
}

TEST(WorkSense, WhatAlwaysMovesIsNotTold) {
  Machine machine;
  WorkSense sense;
  for (int i = 0; i < 400; ++i) EXPECT_FALSE(sense.add(machine.working(), 3.0 * i)) << i;
}

}  // namespace
}  // namespace rookery::vision
