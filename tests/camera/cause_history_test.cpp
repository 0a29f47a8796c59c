// What other dropouts of a camera tell of one: they weigh by their own clues, within 7 days, before and
// after.
#include "camera/cause_history.h"

#include <gtest/gtest.h>

#include <numeric>

#include <rapidcheck/gtest.h>

#include "camera/cause_table.h"
#include "camera/causes.h"

namespace rookery::camera {
namespace {

using namespace std::chrono_literals;

const base::WallTime kNow{std::chrono::hours(490'000)};

PastDropout like(CauseKind kind, base::Microseconds ago) {
  PastDropout out;
  out.began = kNow - ago;
  out.own[static_cast<std::size_t>(kind)] = 1;
  return out;
}

PastDropout restarted(base::Microseconds ago, std::optional<double> uptime_s) {
  PastDropout out;
  out.began = kNow - ago;
  out.restarted = true;
  out.uptime_before_s = uptime_s;
  return out;
}

Evidence restart(std::optional<double> uptime_s) {
  Evidence out;
  out.restart = uptime_s ? Restart::stamp_back : Restart::unknown;
  out.uptime_before_s = uptime_s;
  // Without a clock of the board's own this tells a restart.
  out.old_connection = OldConnection::reset;
  out.exposure = Exposure::ramp;
  return out;
}

TEST(CauseHistory, ACameraThatNothingIsKnownOfIsExpectedToBeLikeAll) {
  EXPECT_EQ(expect(kPrior, find_habit(kNow, {})), kPrior);
}

TEST(CauseHistory, OthersWithinSevenDaysBeforeAndAfterCountAndItselfDoesNot) {
  const std::vector<PastDropout> others{like(CauseKind::fade, 24h), like(CauseKind::fade, -24h),
                                        like(CauseKind::viewer, 0h), like(CauseKind::viewer, 8 * 24h),
                                        PastDropout{kNow - 1h, false, 0, {}, {}, {}}};
  const Habit habit = find_habit(kNow, others);
  EXPECT_EQ(habit.dropouts, 2) << "one of which nothing is known says nothing";
  EXPECT_EQ(habit.like[static_cast<std::size_t>(Cause::radio)], 2);
  EXPECT_EQ(habit.like[static_cast<std::size_t>(Cause::viewer)], 0);
  EXPECT_DOUBLE_EQ(share_of(Cause::radio, habit.shares), 1);
}

TEST(CauseHistory, MoreOfTheSameMakesItMoreLikelyAndNeverCertain) {
  std::vector<PastDropout> others;
  double before = share_of(Cause::radio, kPrior);
  for (int n = 1; n <= 50; ++n) {
    others.push_back(like(CauseKind::fade, n * 1h));
    const double now = share_of(Cause::radio, expect(kPrior, find_habit(kNow, others)));
    EXPECT_GT(now, before) << n;
    EXPECT_LT(now, 0.9) << n;
    before = now;
  }
}

TEST(CauseHistory, TheSameCauseMayShowAnotherWay) {
  std::vector<PastDropout> others;
  for (int n = 1; n <= 8; ++n) others.push_back(like(CauseKind::brown_out, n * 1h));
  const KindShares expected = expect(kPrior, find_habit(kNow, others));
  const auto off = static_cast<std::size_t>(CauseKind::switched_off);
  EXPECT_GT(expected[off], kPrior[off]) << "who lost its supply for a moment may lose it for long";
}

RC_GTEST_PROP(CauseHistory, WhateverWasBeforeWhatIsExpectedSumsToOne, ()) {
  std::vector<PastDropout> others;
  const int count = *rc::gen::inRange(0, 20);
  for (int n = 0; n < count; ++n)
    others.push_back(like(static_cast<CauseKind>(*rc::gen::inRange(0, static_cast<int>(kKinds))),
                          std::chrono::hours(*rc::gen::inRange(-300, 300))));
  const KindShares expected = expect(kPrior, find_habit(kNow, others));
  const double all = std::accumulate(kPrior.begin(), kPrior.end(), 0.0);
  RC_ASSERT(std::abs(std::accumulate(expected.begin(), expected.end(), 0.0) - all) < 0.02);
}

TEST(CauseHistory, RestartsAfterTheSameTimeAreEvenWithinFifteenPerCent) {
  const std::vector<PastDropout> others{restarted(30h, 5000), restarted(20h, 5600), restarted(10h, 9000)};
  const RestartPattern pattern = find_pattern(restart(5100), kNow, others);
  EXPECT_EQ(pattern.restarts, 4);
  EXPECT_EQ(pattern.others_uptimes, 3);
  EXPECT_EQ(pattern.same_uptimes, 2);
  EXPECT_TRUE(is_even(pattern));
}

TEST(CauseHistory, ABoardWithoutAClockRanAsLongAsSinceTheRestartBefore) {
  const std::vector<PastDropout> others{restarted(40h, {}), restarted(30h, {}), restarted(20h, {}),
                                        restarted(10h, {})};
  const RestartPattern pattern = find_pattern(restart({}), kNow, others);
  EXPECT_DOUBLE_EQ(pattern.uptime_s, 36'000);
  EXPECT_EQ(pattern.others_uptimes, 3) << "of the first nobody knows";
  EXPECT_EQ(pattern.same_uptimes, 3);
}

}  // namespace
}  // namespace rookery::camera
