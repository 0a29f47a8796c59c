// What is told of a dropout: the cause that the clues speak for, none without clues, always with numbers.
#include "camera/causes.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <numeric>

#include <rapidcheck/gtest.h>

#include "camera/cause_table.h"

namespace rookery::camera {
namespace {

using namespace std::chrono_literals;

const base::WallTime kNow{std::chrono::hours(490'000)};

bool says(const Ranking& ranking, std::string_view text) {
  return std::ranges::any_of(ranking.evidence,
                             [&](const std::string& line) { return line.find(text) != std::string::npos; });
}

Evidence calm_gap(double gap_s) {
  Evidence e;
  e.gap_s = gap_s;
  e.over = true;
  e.usual_interval_s = 0.1;
  e.length = gap_s < 4    ? Length::under_4_s
             : gap_s < 15 ? Length::under_15_s
             : gap_s < 90 ? Length::under_90_s
                          : Length::longer;
  e.age = Age::settled;
  e.streamed_for_s = 4000;
  e.others = Others::alone;
  e.others_live = 4;
  e.link_before = LinkBefore::calm;
  e.own_reader = OwnReader::on_time;
  e.broken = Broken::none;
  e.place = Place::same;
  return e;
}

Evidence restart() {
  Evidence e = calm_gap(7.5);
  e.old_connection = OldConnection::reset;
  e.ended_after_s = 7.0;
  e.retries = Retries::none_needed;
  e.restart = Restart::stamp_back;
  e.uptime_before_s = 5000;
  e.uptime_after_s = 6.9;
  e.booted_after_s = 0.6;
  e.booted = Booted::at_once;
  e.reach = Reach::never;
  e.connects = 1;
  e.exposure = Exposure::ramp;
  return e;
}

std::vector<PastDropout> restarts(int count, double uptime_s, double spread) {
  std::vector<PastDropout> past;
  for (int n = 1; n <= count; ++n) {
    PastDropout one;
    one.began = kNow - n * 5h;
    one.restarted = true;
    one.streamed_for_s = 4000;
    one.uptime_before_s = uptime_s * (1 + spread * (n % 2 == 0 ? n : -0.13 * n));
    one.booted_after_s = 0.5;
    past.push_back(one);
  }
  return past;
}

TEST(Causes, TheTableIsAProbabilityForEachKind) {
  EXPECT_NEAR(std::accumulate(kPrior.begin(), kPrior.end(), 0.0), 1.0, 0.011);
  for (std::size_t clue = 0; clue < kClues; ++clue) {
    for (std::size_t kind = 0; kind < kKinds; ++kind) {
      for (std::size_t value = 1; value <= kValues[clue]; ++value) {
        EXPECT_GE(likelihood(clue, value, kind), 0.02) << clue << " " << value << " " << kind;
        EXPECT_LE(likelihood(clue, value, kind), 1) << clue << " " << value << " " << kind;
      }
    }
  }
}

TEST(Causes, WithoutCluesNothingIsNamed) {
  const Ranking ranking = rank_causes(Evidence(), kNow, {});
  EXPECT_FALSE(ranking.named.has_value());
  EXPECT_NE(ranking.verdict.find("Not enough to tell"), std::string::npos) << ranking.verdict;
}

TEST(Causes, TheFirstRestartIsARestartOfUnknownCause) {
  const Ranking ranking = rank_causes(restart(), kNow, {});
  EXPECT_TRUE(ranking.restarted);
  EXPECT_FALSE(ranking.named.has_value());
  EXPECT_NE(ranking.verdict.find("Restarted, cause not known (restart 1"), std::string::npos)
      << ranking.verdict;
  EXPECT_TRUE(says(ranking, "The old connection was reset 7.0 s after the gap began"));
}

TEST(Causes, UnevenRestartsAtOnceSpeakForTheSupply) {
  Evidence e = restart();
  e.broken = Broken::some;  // ripples in the last pictures before it fell
  e.broken_pictures = 2;
  const Ranking ranking = rank_causes(e, kNow, restarts(5, 20'000, 0.7));
  EXPECT_EQ(ranking.named, Cause::supply) << ranking.verdict;
  EXPECT_TRUE(says(ranking, "Restarts in 7 days: 6"));
  EXPECT_NE(ranking.remedy.find("4.7 V"), std::string::npos);
  EXPECT_NE(ranking.remedy.find("mains unplugged"), std::string::npos) << "safety first";
}

TEST(Causes, RestartsAfterTheSameTimeSpeakForTheProgram) {
  const Ranking ranking = rank_causes(restart(), kNow, restarts(5, 5000, 0.005));
  EXPECT_NE(ranking.named, Cause::supply);
  EXPECT_EQ(ranking.causes[0].cause, Cause::hang) << ranking.verdict;
  EXPECT_TRUE(says(ranking, "after the same time as this one"));
}

// A gap in which the board stayed reachable by the air, and no more: a fade, or a hiccup.
Evidence faint() {
  Evidence e = calm_gap(6);
  e.old_connection = OldConnection::went_on;
  e.retries = Retries::none_needed;
  e.restart = Restart::stamp_on;
  e.uptime_after_s = 9000;
  e.reach = Reach::came_back;
  e.link_before = LinkBefore::troubled;
  e.length = Length::under_4_s;
  e.gap_s = 3.5;
  return e;
}

std::vector<PastDropout> others_like(CauseKind kind, int count) {
  std::vector<PastDropout> past;
  for (int n = 1; n <= count; ++n) {
    PastDropout one;
    one.began = kNow - n * 5h;
    one.own[static_cast<std::size_t>(kind)] = 1;
    past.push_back(one);
  }
  return past;
}

double share_of_first(const Ranking& ranking, Cause cause) {
  return std::ranges::find(ranking.causes, cause, &RankedCause::cause)->probability;
}

TEST(Causes, WhatTheCameraHadBeforeMakesTheSameMoreLikely) {
  const Ranking alone = rank_causes(faint(), kNow, {});
  EXPECT_FALSE(alone.named.has_value()) << alone.verdict;
  const Ranking after = rank_causes(faint(), kNow, others_like(CauseKind::fade, 5));
  EXPECT_GT(share_of_first(after, Cause::radio), share_of_first(alone, Cause::radio));
  EXPECT_EQ(after.named, Cause::radio) << after.verdict;
  EXPECT_TRUE(says(after, "As in 5 of its 5 other dropouts within 7 days: radio"));
  EXPECT_EQ(after.own, alone.own) << "what its own clues say is the same";
  EXPECT_TRUE(says(rank_causes(faint(), kNow, others_like(CauseKind::fade, 1)),
                   "As in its one other dropout within 7 days: radio"));
}

TEST(Causes, WhatCameAfterwardsCountsAsMuchWhenItIsRankedAgain) {
  auto later = others_like(CauseKind::fade, 5);
  for (PastDropout& one : later) one.began = kNow + (kNow - one.began);
  EXPECT_EQ(rank_causes(faint(), kNow, later).named, Cause::radio);
}

TEST(Causes, NothingIsNamedOnlyBecauseItWasSoBefore) {
  // Not a clue of its own.
  const Ranking ranking = rank_causes(Evidence(), kNow, others_like(CauseKind::fade, 20));
  EXPECT_FALSE(ranking.named.has_value()) << ranking.verdict;
  // Clues that speak against it.
  Evidence late = faint();
  late.reach = Reach::unknown;
  late.own_reader = OwnReader::late;
  late.late_s = 5.2;
  late.burst = Burst::burst;
  late.burst_pictures = 50;
  const Ranking station = rank_causes(late, kNow, others_like(CauseKind::fade, 20));
  EXPECT_NE(station.named, Cause::radio) << station.verdict;
  EXPECT_EQ(station.causes[0].cause, Cause::station) << station.verdict;
  EXPECT_TRUE(says(station, "None of its 20 other dropouts within 7 days looked like station overloaded"));
}

TEST(Causes, ABoardThatAnsweredBeforeItStartedAnewHadPowerThen) {
  Evidence e = restart();
  e.booted_after_s = 3.6;  // no later than a supply that falls again and again
  const auto past = restarts(5, 20'000, 0.7);
  e.booted = Booted::at_once;
  EXPECT_EQ(rank_causes(e, kNow, past).causes[0].cause, Cause::supply);
  e.booted = Booted::answered;
  e.reach = Reach::answered;
  const Ranking ranking = rank_causes(e, kNow, past);
  EXPECT_EQ(ranking.causes[0].cause, Cause::hang) << ranking.verdict;
  EXPECT_TRUE(says(ranking, "had answered in between: it had power then"));
}

TEST(Causes, AcceptedAndNeverAnsweredWhileTheClockWentOnIsAnotherViewer) {
  Evidence e = calm_gap(120);
  e.old_connection = OldConnection::closed;
  e.retries = Retries::unheard;
  e.attempts_failed = 9;
  e.restart = Restart::stamp_on;
  e.uptime_before_s = 5000;
  e.uptime_after_s = 5120;
  e.reach = Reach::answered_silent;
  e.exposure = Exposure::settled;
  const Ranking ranking = rank_causes(e, kNow, {});
  EXPECT_EQ(ranking.named, Cause::viewer) << ranking.verdict;
  EXPECT_TRUE(says(ranking, "9 new connections were accepted and never answered"));
}

TEST(Causes, CamerasThatStopTogetherAreTheNetwork) {
  Evidence e = calm_gap(40);
  e.old_connection = OldConnection::given_up;
  e.ended_after_s = 10;
  e.retries = Retries::no_answer;
  e.attempts_failed = 4;
  e.restart = Restart::stamp_on;
  e.uptime_after_s = 9000;
  e.reach = Reach::never;
  e.others = Others::most;
  e.others_live = 6;
  e.others_gaps = 6;
  const Ranking ranking = rank_causes(e, kNow, {});
  EXPECT_EQ(ranking.named, Cause::network) << ranking.verdict;
  EXPECT_NE(ranking.remedy.find("6 of 6"), std::string::npos) << ranking.remedy;
}

TEST(Causes, OwnLatenessIsTheStation) {
  Evidence e = calm_gap(6);
  e.old_connection = OldConnection::went_on;
  e.retries = Retries::none_needed;
  e.restart = Restart::stamp_on;
  e.uptime_after_s = 9000;
  e.own_reader = OwnReader::late;
  e.late_s = 5.2;
  e.burst = Burst::burst;
  e.burst_pictures = 50;
  const Ranking ranking = rank_causes(e, kNow, {});
  EXPECT_EQ(ranking.named, Cause::station) << ranking.verdict;
  EXPECT_TRUE(says(ranking, "This station's own work was 5.2 s late"));
}

TEST(Causes, WordsOfCausesReadBack) {
  for (std::size_t n = 0; n < kCauses; ++n) {
    const auto cause = static_cast<Cause>(n);
    EXPECT_EQ(dropout_cause_of(name_of(cause)), cause);
  }
  EXPECT_FALSE(dropout_cause_of("weather").has_value());
}

template <class T>
T any_of(int values) {
  return static_cast<T>(*rc::gen::inRange(0, values));
}

Evidence any_evidence() {
  Evidence e;
  e.old_connection = any_of<OldConnection>(7);
  e.retries = any_of<Retries>(8);
  e.restart = any_of<Restart>(3);
  e.reach = any_of<Reach>(7);
  e.others = any_of<Others>(5);
  e.link_before = any_of<LinkBefore>(4);
  e.own_reader = any_of<OwnReader>(3);
  e.burst = any_of<Burst>(3);
  e.broken = any_of<Broken>(4);
  e.exposure = any_of<Exposure>(3);
  e.age = any_of<Age>(3);
  e.length = any_of<Length>(5);
  e.warmth = any_of<Warmth>(3);
  e.place = any_of<Place>(3);
  e.announced = any_of<Announced>(2);
  e.booted = any_of<Booted>(4);
  e.over = *rc::gen::arbitrary<bool>();
  e.gap_s = *rc::gen::inRange(0, 100'000) / 10.0;
  if (e.restart != Restart::unknown) {
    e.uptime_before_s = *rc::gen::inRange(0, 1'000'000);
    e.uptime_after_s = *rc::gen::inRange(0, 1'000'000);
    e.booted_after_s = *rc::gen::inRange(0, 1000);
  }
  return e;
}

RC_GTEST_PROP(Causes, WhateverTheCluesProbabilitiesSumToOneAndWhatIsNamedIsClear, ()) {
  const Evidence e = any_evidence();
  const auto past = restarts(*rc::gen::inRange(0, 6), 8000, 0.3);
  const Ranking ranking = rank_causes(e, kNow, past);
  double sum = ranking.unexplained;
  for (std::size_t n = 0; n < kCauses; ++n) {
    sum += ranking.causes[n].probability;
    if (n > 0) RC_ASSERT(ranking.causes[n].probability <= ranking.causes[n - 1].probability);
  }
  RC_ASSERT(std::abs(sum - 1) < 1e-9);
  RC_ASSERT(!ranking.verdict.empty());
  RC_ASSERT(!ranking.remedy.empty());
  RC_ASSERT(!ranking.evidence.empty());
  if (!ranking.named) return;
  RC_ASSERT(*ranking.named == ranking.causes[0].cause);
  RC_ASSERT(ranking.causes[0].probability > 0.75);
  RC_ASSERT(ranking.causes[0].probability > 3 * ranking.causes[1].probability);
}

RC_GTEST_PROP(Causes, WhateverTheOthersWereWhatIsNamedIsNotUnlikelyByItsOwnClues, ()) {
  const Evidence e = any_evidence();
  const auto kind = static_cast<CauseKind>(*rc::gen::inRange(0, static_cast<int>(kKinds)));
  const Ranking ranking = rank_causes(e, kNow, others_like(kind, 30));
  if (ranking.named) RC_ASSERT(share_of(*ranking.named, ranking.own) > 0.1);
}

RC_GTEST_PROP(Causes, SupplyIsNeverNamedBeforeTheThirdRestart, ()) {
  const Evidence e = any_evidence();
  const Ranking ranking = rank_causes(e, kNow, restarts(*rc::gen::inRange(0, 2), 8000, 0.3));
  RC_ASSERT(ranking.named != Cause::supply);
}

}  // namespace
}  // namespace rookery::camera
