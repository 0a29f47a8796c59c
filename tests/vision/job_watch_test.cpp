// A machine of few cells: a head of 4×4 that goes about over a bed, before a wall with some pattern.
#include "vision/job_watch.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <random>

namespace rookery::vision {
namespace {

constexpr int kWidth = 56;
constexpr int kHeight = 30;

class Machine {
 public:
  // The head's upper left corner; above the picture: it is not to be seen.
  jpeg::LumaGrid still(int head_x, int head_y) {
    jpeg::LumaGrid grid{kWidth, kHeight, {}, false};
    for (int y = 0; y < kHeight; ++y) {
      for (int x = 0; x < kWidth; ++x) {
        double value = 90 + 40 * ((x / 3 + y / 4) % 2);
        if (x >= head_x && x < head_x + 4 && y >= head_y && y < head_y + 4) value = 30;
        // Its top fills a cell little by little.
        const double filled =
            x >= part_x && x < part_x + 8 && y < 24 ? std::clamp(part_ - (23 - y), 0.0, 1.0) : 0;
        value += filled * (210 - value);
        grid.cells.push_back(static_cast<std::uint8_t>(value * light + random_() % 3));
      }
    }
    return grid;
  }
  jpeg::LumaGrid working() {
    return still(static_cast<int>(12 + random_() % 14), static_cast<int>(12 + random_() % 8));
  }
  void grow(double rows) { part_ = rows; }
  double light = 1;
  int part_x = 16;

 private:
  std::mt19937 random_{7};
  double part_ = 0;
};

class JobWatchTest : public testing::Test {
 protected:
  JobWatchTest() : watch(JobWatch::make({.still_every_s = 5, .still_after_s = 300}).value()) {}
  std::vector<JobReport> give(const jpeg::LumaGrid& grid) {
    at_s += 5;
    auto reports = watch.add(grid, at_s);
    all.insert(all.end(), reports.begin(), reports.end());
    return reports;
  }
  void work(double seconds) {
    for (double s = 0; s < seconds; s += 5) {
      machine.grow(std::min(10.0, worked_s / 120));
      give(machine.working());
      worked_s += 5;
    }
  }
  void rest_at(int x, int y, double seconds) {
    for (double s = 0; s < seconds; s += 5) give(machine.still(x, y));
  }
  std::string said() const {
    std::string text;
    for (const JobReport& report : all)
      text += (report.over ? "no " : "") + std::string(name_of(report.sign)) + ";";
    return text;
  }
  Machine machine;
  JobWatch watch;
  double at_s = 0;
  double worked_s = 0;
  std::vector<JobReport> all;
};

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

TEST_F(JobWatchTest, ACoveredLensIsTold) {
  work(900);
  jpeg::LumaGrid grey{kWidth, kHeight, std::vector<std::uint8_t>(kWidth * kHeight, 60), false};
  for (int i = 0; i < 14; ++i) give(grey);
  ASSERT_EQ(said(), "covered;");
  EXPECT_TRUE(all[0].sure);
  work(60);
  EXPECT_EQ(said(), "covered;no covered;");
}

TEST_F(JobWatchTest, BehindACoverNothingRestsAndNothingGrows) {
  work(900);
  const double grown = watch.now().grown_share;
  jpeg::LumaGrid grey{kWidth, kHeight, std::vector<std::uint8_t>(kWidth * kHeight, 60), false};
  for (int i = 0; i < 240; ++i) give(grey);
  rest_at(18, 15, 60);
  EXPECT_EQ(said(), "covered;no covered;") << "that it stood still for 20 minutes nobody has seen";
  work(600);
  EXPECT_EQ(said(), "covered;no covered;");
  EXPECT_LT(watch.facts().longest_quiet_s, 120);
  EXPECT_LT(watch.now().grown_share, grown + 0.05);
}

TEST_F(JobWatchTest, InTheDarkACoverIsNotSure) {
  work(900);
  jpeg::LumaGrid black{kWidth, kHeight, std::vector<std::uint8_t>(kWidth * kHeight, 3), false};
  for (int i = 0; i < 14; ++i) give(black);
  ASSERT_EQ(said(), "covered;");
  EXPECT_FALSE(all[0].sure);
}

// It would else be taken for the usual view before it is told.
TEST_F(JobWatchTest, ABlurredViewIsToldAndTakenBack) {
  const auto soft = [](const jpeg::LumaGrid& sharp) {
    jpeg::LumaGrid out = sharp;
    for (int y = 0; y < kHeight; ++y) {
      for (int x = 0; x < kWidth; ++x) {
        int sum = 0;
        for (int dy = -1; dy <= 1; ++dy) {
          for (int dx = -1; dx <= 1; ++dx)
            sum += sharp.cells[static_cast<std::size_t>(std::clamp(y + dy, 0, kHeight - 1) * kWidth +
                                                        std::clamp(x + dx, 0, kWidth - 1))];
        }
        out.cells[static_cast<std::size_t>(y * kWidth + x)] = static_cast<std::uint8_t>(sum / 9);
      }
    }
    return out;
  };
  work(900);
  const double began_s = at_s;
  for (int i = 0; i < 60; ++i) give(soft(machine.working()));
  ASSERT_EQ(said(), "unsharp;");
  EXPECT_NEAR(all[0].at_s - began_s, 120, 15);
  work(200);
  EXPECT_EQ(said(), "unsharp;no unsharp;");
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

TEST_F(JobWatchTest, AnotherViewIsTold) {
  work(900);
  for (int i = 0; i < 14; ++i) {
    jpeg::LumaGrid grid = machine.working();
    std::mt19937 other(3);
    for (std::uint8_t& cell : grid.cells) cell = static_cast<std::uint8_t>(60 + other() % 120);
    give(grid);
  }
  EXPECT_EQ(said(), "knocked;");
}

TEST_F(JobWatchTest, WhoStandsBeforeTheCameraForAMomentIsNotTold) {
  work(900);
  jpeg::LumaGrid grey{kWidth, kHeight, std::vector<std::uint8_t>(kWidth * kHeight, 60), false};
  for (int i = 0; i < 5; ++i) give(grey);
  work(120);
  EXPECT_EQ(said(), "");
}

TEST_F(JobWatchTest, ALampThatIsSwitchedIsNoReport) {
  work(900);
  for (int i = 0; i < 4; ++i) {
    machine.light = i % 2 == 0 ? 0.6 : 1;
    work(300);
  }
  EXPECT_EQ(said(), "");
}

TEST_F(JobWatchTest, AnEmptyRoomSaysNothing) {
  rest_at(-9, -9, 7200);
  EXPECT_EQ(said(), "");
  EXPECT_EQ(watch.now().phase, JobPhase::learning);
}

TEST_F(JobWatchTest, OfATimeWithoutStillsNothingIsConcluded) {
  work(900);
  at_s += 7200;
  work(60);
  EXPECT_EQ(said(), "");
  EXPECT_LT(watch.facts().longest_quiet_s, 60);
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

TEST_F(JobWatchTest, AnotherSizeBeginsAnew) {
  work(300);
  jpeg::LumaGrid other{20, 10, std::vector<std::uint8_t>(200, 100), false};
  give(other);
  EXPECT_EQ(watch.width(), 20);
  give(machine.working());
  EXPECT_EQ(watch.width(), kWidth);
  work(600);
  EXPECT_EQ(said(), "");
}

TEST_F(JobWatchTest, ARestoredWatchGoesOnAsTheOther) {
  work(700);
  JobWatch other = JobWatch::make({.still_every_s = 5, .still_after_s = 300}).value();
  ASSERT_TRUE(other.restore(watch.save()));
  for (int i = 0; i < 100; ++i) {
    const auto grid = i < 40 ? machine.working() : machine.still(1, 2);
    at_s += 5;
    const auto a = watch.add(grid, at_s);
    const auto b = other.add(grid, at_s);
    ASSERT_EQ(a.size(), b.size()) << i;
    for (std::size_t k = 0; k < a.size(); ++k) {
      EXPECT_EQ(a[k].sign, b[k].sign);
      EXPECT_EQ(a[k].at_s, b[k].at_s);
      EXPECT_EQ(a[k].sure, b[k].sure);
    }
  }
  EXPECT_EQ(watch.save(), other.save());
}

TEST_F(JobWatchTest, BytesThatAreNoneChangeNothing) {
  work(300);
  const auto saved = watch.save();
  for (std::size_t length :
       {std::size_t{0}, std::size_t{3}, std::size_t{8}, saved.size() / 2, saved.size() - 1})
    EXPECT_FALSE(watch.restore(std::span(saved).first(length))) << length;
  auto longer = saved;
  longer.push_back(std::byte{1});
  EXPECT_FALSE(watch.restore(longer));
  auto newer = saved;
  newer[4] = std::byte{9};
  EXPECT_EQ(watch.restore(newer).error().code, base::ErrorCode::newer_version);
  std::mt19937 random(5);
  for (int i = 0; i < 300; ++i) {
    auto spoilt = saved;
    spoilt[random() % spoilt.size()] = static_cast<std::byte>(random());
    JobWatch other = JobWatch::make({}).value();
    if (other.restore(spoilt)) static_cast<void>(other.add(machine.working(), 1e9));
  }
  EXPECT_EQ(watch.save(), saved);
}

// The same machine in a picture three times as wide: what moves there is nine times as many cells.
TEST_F(JobWatchTest, InASmallerPictureItStillMoves) {
  for (int i = 0; i < 180; ++i) {
    machine.grow(i / 24.0);
    const auto small = machine.working();
    jpeg::LumaGrid large{3 * kWidth, 3 * kHeight, {}, false};
    for (int y = 0; y < large.height; ++y) {
      for (int x = 0; x < large.width; ++x)
        large.cells.push_back(small.cells[static_cast<std::size_t>(y / 3 * kWidth + x / 3)]);
    }
    give(large);
  }
  work(900);
  EXPECT_EQ(said(), "");
  EXPECT_EQ(watch.now().phase, JobPhase::working);
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

// In seconds a rest of few stills is long, and the last twelve stills are mostly of work.
TEST_F(JobWatchTest, WithRareStillsAnEndIsToldOnceAndNotWhileItWorks) {
  for (const double every_s : {10.0, 30.0, 60.0, 130.0, 600.0}) {
    Machine anew;
    watch = JobWatch::make({.still_every_s = every_s, .still_after_s = 600}).value();
    all.clear();
    at_s = 0;
    for (int i = 0; i < 310; ++i) {
      anew.grow(i / 30.0);
      at_s += every_s;
      for (const JobReport& report : watch.add(i < 250 ? anew.working() : anew.still(1, 2), at_s))
        all.push_back(report);
    }
    EXPECT_EQ(said(), "finished;") << every_s;
    if (!all.empty()) {
      EXPECT_GT(all[0].at_s, 250 * every_s) << every_s;
    }
  }
}

// The time away would else count twice, and the rest begin in two hours.
TEST_F(JobWatchTest, ACoverAfterATimeWithoutStillsPutsNothingIntoTheFuture) {
  work(900);
  rest_at(18, 15, 60);
  at_s += 7200;
  const jpeg::LumaGrid grey{kWidth, kHeight, std::vector<std::uint8_t>(kWidth * kHeight, 60), false};
  for (int i = 0; i < 14; ++i) give(grey);
  rest_at(18, 15, 400);
  EXPECT_EQ(said(), "covered;no covered;still;");
}

// It stands after four numbers of 32 bits.
TEST_F(JobWatchTest, AStateFromTheFutureIsNone) {
  work(300);
  for (const double at : {1e12, 100.0}) {  // all stills would be older; … and what is known younger
    auto saved = watch.save();
    std::memcpy(saved.data() + 16, &at, sizeof at);
    EXPECT_FALSE(watch.restore(saved)) << at;
  }
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
