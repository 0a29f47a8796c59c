// A watch whose camera is covered, knocked, blurred, in other light, slow or away; and what it saves.
#include "vision/job_watch.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cstring>
#include <random>

#include "tests/vision/job_machine.h"

namespace rookery::vision {
namespace {

TEST_F(JobWatchTest, ACoveredLensIsTold) {
  work(900);
  for (int i = 0; i < 14; ++i) give(grey());
  ASSERT_EQ(said(), "covered;");
  EXPECT_TRUE(all[0].sure);
  work(60);
  EXPECT_EQ(said(), "covered;no covered;");
}

TEST_F(JobWatchTest, BehindACoverNothingRestsAndNothingGrows) {
  work(900);
  const double grown = watch.now().grown_share;
  for (int i = 0; i < 240; ++i) give(grey());
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

// The second look of a pause.
TEST_F(JobWatchTest, BehindACoverNothingStillLooksSo) {
  work(900);
  rest_at(18, 15, 310);
  ASSERT_EQ(said(), "still;");
  ASSERT_TRUE(watch.looks_so(JobSign::still));
  give(grey());
  EXPECT_FALSE(watch.looks_so(JobSign::still)) << "nothing was seen";
  EXPECT_TRUE(watch.stands(JobSign::still));
}

TEST_F(JobWatchTest, WhatWasNotSureIsToldAgainWhenItIs) {
  work(900);
  machine.light = 0.15;
  rest_at(18, 15, 400);
  ASSERT_EQ(said(), "still;");
  ASSERT_FALSE(all[0].sure) << "in the dark";
  machine.light = 1;
  rest_at(18, 15, 60);
  ASSERT_EQ(said(), "still;still;");
  EXPECT_TRUE(all[1].sure);
  rest_at(18, 15, 600);
  EXPECT_EQ(said(), "still;still;");
}

TEST_F(JobWatchTest, AViewThatStaysAnotherIsTheUsualOneAfterHalfAnHour) {
  const auto turned = [](const jpeg::LumaGrid& grid) {
    jpeg::LumaGrid out = grid;
    for (int y = 0; y < kHeight; ++y) {
      for (int x = 0; x < kWidth; ++x)
        out.cells[static_cast<std::size_t>(y * kWidth + x)] =
            grid.cells[static_cast<std::size_t>(y * kWidth + (x + 3) % kWidth)];
    }
    return out;
  };
  work(900);
  for (int i = 0; i < 720; ++i) give(turned(machine.working()));
  EXPECT_EQ(said(), "knocked;no knocked;");
  EXPECT_GT(all[1].at_s - all[0].at_s, 1'700);
  for (int i = 0; i < 100; ++i) give(turned(machine.still(18, 15)));
  EXPECT_EQ(said(), "knocked;no knocked;still;");
  EXPECT_GT(watch.now().quiet_s, 400);
}

// A weak radio: no still comes as soon as it is wanted.
TEST_F(JobWatchTest, ACameraThatIsSlowerThanWantedIsWatchedAllTheSame) {
  work(900);
  for (int i = 0; i < 60; ++i) {
    at_s += 60;
    give(machine.still(18, 15));
  }
  EXPECT_EQ(said().find("still;"), 0U) << said();
  EXPECT_GT(watch.now().quiet_s, 1'800);
}

// A kiln in which a lamp flickers now and then.
TEST_F(JobWatchTest, SomeFlickersInHoursAreNoWork) {
  for (int k = 0; k < 60; ++k) {
    rest_at(-9, -9, 600);
    give(machine.still(20, 10));
  }
  EXPECT_EQ(said(), "");
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
  for (int i = 0; i < 5; ++i) give(grey());
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

TEST_F(JobWatchTest, OfATimeWithoutStillsNothingIsConcluded) {
  work(900);
  at_s += 7200;
  work(60);
  EXPECT_EQ(said(), "");
  EXPECT_LT(watch.facts().longest_quiet_s, 60);
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
  for (int i = 0; i < 14; ++i) give(grey());
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
  // Since when the first sign looks so; it stands behind the times of the last two stills and one truth
  // value.
  for (const double since : {1e6, 100.0}) {
    auto saved = watch.save();
    std::memcpy(saved.data() + 33, &since, sizeof since);
    EXPECT_EQ(watch.restore(saved).has_value(), since < at_s) << since;
  }
}

}  // namespace
}  // namespace rookery::vision
