// The age clock: nothing counts as older than the station has seen time pass, and everything settles in the
// end.
#include "archive/age_clock.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include "tests/support/home_folder.h"

namespace rookery::archive {
namespace {

using namespace std::chrono_literals;
using base::Microseconds;
using base::WallTime;
using std::chrono::days;

const WallTime kNoon = std::chrono::sys_days{std::chrono::year{2026} / 3 / 1} + 12h;

AgeState sound(WallTime at = kNoon) { return {at, at}; }

// Runs for `span`, a look a minute, the clock going on as it should.
AgeState run(AgeState state, Microseconds span) {
  for (Microseconds passed{0}; passed < span; passed += 1min) state = advance(state, state.wall + 1min, 1min);
  return state;
}

TEST(AgeClock, FollowsAClockThatGoesRight) {
  const AgeState later = run(sound(), 48h);
  EXPECT_EQ(later.trusted, kNoon + 48h);
  EXPECT_EQ(later.now(), later.wall);
  EXPECT_FALSE(later.worth_saying());
}

TEST(AgeClock, SmallCorrectionsAndShortStopsAreNothing) {
  EXPECT_EQ(advance(sound(), kNoon + 1min + 20s, 1min), sound(kNoon + 1min + 20s));
  EXPECT_EQ(advance(sound(), kNoon + 40s, 1min), sound(kNoon + 40s));
  EXPECT_EQ(advance(sound(), kNoon + 50s, std::nullopt), sound(kNoon + 50s));
}

TEST(AgeClock, RunsAtMostTwiceAsFastAsTimePasses) {
  AgeState state = advance(sound(), kNoon + 1min + days{365 * 30}, 1min);
  EXPECT_EQ(state.now(), kNoon + 2min);
  state = run(state, 10h);
  EXPECT_LE(state.now(), kNoon + 21h);
  EXPECT_TRUE(state.worth_saying());
}

TEST(AgeClock, ANightOffIsCaughtUpByAsLongARun) {
  AgeState state = advance(sound(), kNoon + 10h, std::nullopt);
  EXPECT_EQ(state.now(), kNoon);
  EXPECT_FALSE(state.worth_saying());
  EXPECT_EQ(state.settles_in(), Microseconds(10h));
  state = run(state, 10h);
  EXPECT_EQ(state.now(), kNoon + 20h);
  EXPECT_EQ(state.ahead(), Microseconds(0));
}

TEST(AgeClock, ThirtyDaysOfAClockThatNobodySetsSettleIt) {
  AgeState state = advance(sound(), kNoon + days{365 * 5}, std::nullopt);
  EXPECT_EQ(state.settles_in(), Microseconds(days{30}));
  state = run(state, days{29});
  EXPECT_TRUE(state.worth_saying());
  state = run(state, days{1} + 1min);
  EXPECT_EQ(state.now(), state.wall);
  EXPECT_FALSE(state.worth_saying());
}

TEST(AgeClock, AClockThatIsSetAgainIsNotSteady) {
  AgeState state = advance(sound(), kNoon + days{365}, std::nullopt);
  state = run(state, days{20});
  EXPECT_GT(state.steady, Microseconds(days{19}));
  state = advance(state, state.wall + days{100}, 1min);
  EXPECT_EQ(state.steady, Microseconds(0));
}

TEST(AgeClock, AClockThatFellBackLetsNothingGoAndIsForgivenWhenItIsRightAgain) {
  const WallTime epoch{};
  AgeState state = advance(sound(), epoch, std::nullopt);
  EXPECT_EQ(state.now(), epoch);
  EXPECT_TRUE(state.worth_saying());
  state = run(state, 2h);
  state = advance(state, kNoon + 2h, 1min);
  EXPECT_GE(state.now(), kNoon);
  EXPECT_LE(state.now(), kNoon + 2h);
  EXPECT_FALSE(state.worth_saying());
}

TEST(AgeClock, SaysWhatItSaysWithNumbersAndARemedy) {
  const AgeState ahead = advance(sound(), kNoon + days{21}, std::nullopt);
  EXPECT_NE(explain(ahead).detail.find("21.0 days more"), std::string::npos) << explain(ahead).text();
  EXPECT_NE(explain(ahead).remedy.find("rookery archive confirm-clock"), std::string::npos);
  EXPECT_NE(explain(ahead).remedy.find("21.0 days of running"), std::string::npos) << explain(ahead).text();
  const AgeState behind = advance(sound(), kNoon - days{3}, 1min);
  EXPECT_NE(explain(behind).detail.find("3.0 days less"), std::string::npos) << explain(behind).text();
}

// Whatever the clock does: ages are never counted by more than twice the time that was seen to pass, until
// the clock was steady for 30 days; and never by more than the clock says.
RC_GTEST_PROP(AgeClockProperty, NeverAheadOfWhatWasSeen, ()) {
  AgeState state = sound();
  Microseconds ran{0};
  const auto steps = *rc::gen::container<std::vector<std::pair<int, int>>>(
      rc::gen::pair(rc::gen::inRange(0, 600), rc::gen::inRange(-2'000'000, 2'000'000)));
  for (const auto& [passed_s, set_min] : steps) {
    const Microseconds passed = std::chrono::seconds(passed_s);
    // Every step sets the clock by more than a minute, so it is never believed for being steady.
    const auto set = std::chrono::minutes(set_min == 0 ? 2 : set_min * 2);
    ran += passed;
    state = advance(state, state.wall + passed + set, passed);
    RC_ASSERT(state.now() <= state.wall);
    // Each look may add the minute that counts as agreement.
    RC_ASSERT(state.now() <= kNoon + 2 * ran + std::chrono::minutes(1) * static_cast<int>(steps.size()));
  }
}

TEST(AgeStore, KeepsTheStateAndCountsConfirmations) {
  const support::HomeFolder home;
  auto catalog = Catalog::open(home.path() / "home").value();
  AgeStore store(*catalog);
  EXPECT_FALSE(store.load().value().has_value());
  EXPECT_EQ(store.first(kNoon).value(), sound());
  const AgeState state{kNoon, kNoon + 48h, 3h};
  store.save_later(state);
  ASSERT_TRUE(catalog->flush());
  EXPECT_EQ(store.load().value()->state, state);
  EXPECT_EQ(store.load().value()->confirmations, 0);
  ASSERT_TRUE(store.confirm(kNoon + 49h).has_value());
  EXPECT_EQ(store.load().value()->state, sound(kNoon + 49h));
  EXPECT_EQ(store.load().value()->confirmations, 1);
  store.save_later(state);
  ASSERT_TRUE(catalog->flush());
  EXPECT_EQ(store.load().value()->confirmations, 1);
}

}  // namespace
}  // namespace rookery::archive
