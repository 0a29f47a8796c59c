// One job under way: what its stills become. The machine is a dark block on a chequered wall.
#include "station/job_run.h"

#include <gtest/gtest.h>

#include <random>

namespace rookery::station {
namespace {

using namespace std::chrono_literals;
using vision::JobSign;

const base::WallTime kNoon = base::parse_rfc3339("2026-03-01T12:00:00Z").value();

class JobRunTest : public testing::Test {
 protected:
  JobRunTest() {
    settings.still_after = 300s;
    settings.end_after = 120s;
  }
  JobRun make() {
    archive::Job job(base::CameraName::parse("anvil").value());
    job.id = 5;
    job.start = kNoon;
    job.began = began;
    job.expected = expected;
    return JobRun::make(job, settings, {}, [this] { return ++events; }).value();
  }
  jpeg::LumaGrid still(int head_x, int head_y) {
    jpeg::LumaGrid grid{40, 30, {}, false};
    for (int y = 0; y < 30; ++y) {
      for (int x = 0; x < 40; ++x) {
        const bool head = x >= head_x && x < head_x + 4 && y >= head_y && y < head_y + 4;
        grid.cells.push_back(
            static_cast<std::uint8_t>(head ? 30 : 90 + 40 * ((x / 3 + y / 4) % 2) + random_() % 3));
      }
    }
    return grid;
  }
  void take(const JobRun::Outcome& outcome) {
    steps.insert(steps.end(), outcome.steps.begin(), outcome.steps.end());
    told.insert(told.end(), outcome.events.begin(), outcome.events.end());
    if (outcome.pause) pauses.push_back(outcome.pause->sign);
    if (outcome.end && !end) end = outcome.end;
  }
  void look(JobRun& run, const jpeg::LumaGrid& grid) {
    passed += 5s;
    take(run.look(grid, {kNoon + passed, base::MonoTime{} + passed}));
  }
  void work(JobRun& run, std::chrono::seconds length) {
    for (auto s = 0s; s < length; s += 5s)
      look(run, still(static_cast<int>(12 + random_() % 14), static_cast<int>(12 + random_() % 8)));
  }
  void rest(JobRun& run, int x, int y, std::chrono::seconds length) {
    for (auto s = 0s; s < length; s += 5s) look(run, still(x, y));
  }

  archive::JobSettings settings;
  archive::JobVoice began = archive::JobVoice::hand;
  std::optional<std::chrono::seconds> expected;
  std::int64_t events = 0;
  std::chrono::seconds passed{0};
  std::vector<archive::JobStep> steps;
  std::vector<archive::Event> told;
  std::vector<JobSign> pauses;
  std::optional<JobRun::End> end;

 private:
  std::mt19937 random_{7};
};

TEST_F(JobRunTest, WhatStandsIsAStepAndAnEventWithBothPictures) {
  JobRun run = make();
  work(run, 900s);
  rest(run, 18, 15, 400s);
  ASSERT_EQ(steps.size(), 1u);
  EXPECT_EQ(steps[0].what, "still");
  ASSERT_TRUE(steps[0].before);
  EXPECT_LT(*steps[0].before, steps[0].at);
  EXPECT_NEAR(std::chrono::duration<double>(steps[0].at - kNoon).count(), 1205, 20);
  ASSERT_EQ(told.size(), 1u);
  EXPECT_EQ(told[0].cause, archive::EventCause::job);
  EXPECT_EQ(told[0].detail, "still");
  EXPECT_EQ(told[0].job, 5);
  EXPECT_TRUE(told[0].under_way);
  EXPECT_EQ(run.standing(), (std::vector{JobSign::still}));
  work(run, 100s);
  ASSERT_EQ(told.size(), 2u);
  EXPECT_EQ(told[1].id, told[0].id);
  EXPECT_FALSE(told[1].under_way);
  EXPECT_TRUE(steps[1].over);
}

TEST_F(JobRunTest, WhatIsNotToldIsAStepAlone) {
  settings.tell.clear();
  JobRun run = make();
  work(run, 900s);
  rest(run, 18, 15, 400s);
  EXPECT_EQ(steps.size(), 1u);
  EXPECT_TRUE(told.empty());
}

TEST_F(JobRunTest, WhenItHasFinishedForAWhileItIsOver) {
  JobRun run = make();
  work(run, 900s);
  rest(run, 1, 2, 100s);
  EXPECT_FALSE(end);
  rest(run, 1, 2, 150s);
  ASSERT_TRUE(end);
  EXPECT_EQ(end->ending, archive::JobEnding::finished);
  EXPECT_EQ(end->voice, archive::JobVoice::watch);
}

TEST_F(JobRunTest, AScheduledJobEndsByTheClockAlone) {
  began = archive::JobVoice::schedule;
  expected = 3600s;
  JobRun run = make();
  work(run, 900s);
  rest(run, 1, 2, 1200s);
  EXPECT_FALSE(end);
  take(run.pass({kNoon + 3600s, base::MonoTime{} + 3600s}));
  ASSERT_TRUE(end);
  EXPECT_EQ(end->voice, archive::JobVoice::schedule);
}

TEST_F(JobRunTest, OneThatIsForgottenEndsAfterAMonthAlsoWithoutAStill) {
  JobRun run = make();
  const auto pass_to = [&](std::chrono::hours at) { take(run.pass({kNoon + at, base::MonoTime{} + at})); };
  pass_to(0h);
  pass_to(JobRun::kLongest - 1h);
  EXPECT_FALSE(end);
  JobRun next = make();
  ASSERT_TRUE(next.restore(run.save())) << "a restart loses nothing of it";
  run = std::move(next);
  pass_to(JobRun::kLongest - 1h);
  EXPECT_FALSE(end);
  pass_to(JobRun::kLongest + 1h);
  ASSERT_TRUE(end);
  EXPECT_NE(end->note.find("month"), std::string::npos);
}

TEST_F(JobRunTest, AClockThatIsSetEndsNoJob) {
  const auto years = std::chrono::hours{24 * 365 * 56};
  JobRun run = make();
  work(run, 300s);
  take(run.pass({kNoon + years, base::MonoTime{} + passed + 1s}));
  EXPECT_FALSE(end) << "under way";
  JobRun next = make();
  ASSERT_TRUE(next.restore(run.save()));
  take(next.pass({kNoon + years, base::MonoTime{} + 10s}));
  take(next.pass({kNoon + years + 1h, base::MonoTime{} + 1h}));
  EXPECT_FALSE(end) << "after a restart";
}

TEST_F(JobRunTest, AScheduledJobIsNoLongerThanItsHoursWhereTheClockIsSetBack) {
  began = archive::JobVoice::schedule;
  expected = 3600s;
  JobRun run = make();
  work(run, 900s);
  take(run.pass({kNoon - 24h, base::MonoTime{} + 3500s}));
  EXPECT_FALSE(end);
  take(run.pass({kNoon - 24h + 200s, base::MonoTime{} + 3700s}));
  ASSERT_TRUE(end);
  EXPECT_EQ(end->voice, archive::JobVoice::schedule);
}

TEST_F(JobRunTest, NobodyIsAskedToPauseUnlessAPersonSaidSo) {
  JobRun run = make();
  work(run, 900s);
  rest(run, 18, 15, 900s);
  EXPECT_TRUE(pauses.empty());
}

TEST_F(JobRunTest, APauseIsAskedForOnceAfterTheHoldAndASecondLook) {
  settings.stop = {1, {JobSign::still}, 60s};
  JobRun run = make();
  work(run, 900s);
  rest(run, 18, 15, 330s);
  ASSERT_EQ(steps.size(), 1u);
  EXPECT_TRUE(pauses.empty()) << "it holds";
  rest(run, 18, 15, 600s);
  EXPECT_EQ(pauses, (std::vector{JobSign::still}));
  EXPECT_EQ(steps.back().what, "pause-asked");
}

TEST_F(JobRunTest, WhatIsOverWithinTheHoldAsksForNothing) {
  settings.stop = {1, {JobSign::still}, 300s};
  JobRun run = make();
  work(run, 900s);
  rest(run, 18, 15, 340s);
  work(run, 600s);
  EXPECT_EQ(steps.size(), 2u);
  EXPECT_TRUE(pauses.empty());
}

TEST_F(JobRunTest, APauseThatIsSwitchedOffInTheHoldIsNotAskedFor) {
  settings.stop = {1, {JobSign::still}, 300s};
  JobRun run = make();
  work(run, 900s);
  rest(run, 18, 15, 340s);
  ASSERT_EQ(steps.size(), 1u);
  settings.stop.receiver = 0;
  run.set(run.job(), settings);
  rest(run, 18, 15, 900s);
  EXPECT_TRUE(pauses.empty());
  EXPECT_EQ(steps.size(), 1u) << "and no step says that it was";
}

TEST_F(JobRunTest, AtTheSecondLookItHasToLookSo) {
  settings.stop = {1, {JobSign::covered}, 10s};
  JobRun run = make();
  work(run, 900s);
  const jpeg::LumaGrid grey{40, 30, std::vector<std::uint8_t>(1200, 60), false};
  while (steps.empty()) look(run, grey);
  ASSERT_EQ(steps[0].what, "covered");
  look(run, grey);
  // The still after the hold shows the machine again; that it is over is only said after a while.
  work(run, 60s);
  EXPECT_TRUE(pauses.empty());
  EXPECT_TRUE(steps.back().over);
}

TEST_F(JobRunTest, AnotherSignThanThoseNamedAsksForNothing) {
  settings.stop = {1, {JobSign::covered}, 10s};
  JobRun run = make();
  work(run, 900s);
  rest(run, 18, 15, 900s);
  EXPECT_TRUE(pauses.empty());
}

TEST_F(JobRunTest, ARestartGoesOnWhereItWas) {
  JobRun first = make();
  work(first, 900s);
  rest(first, 1, 2, 100s);
  ASSERT_EQ(steps.size(), 1u);
  ASSERT_EQ(steps[0].what, "finished");
  JobRun second = make();
  ASSERT_TRUE(second.restore(first.save()));
  second.recall(steps, base::MonoTime{} + passed);
  EXPECT_EQ(second.standing(), (std::vector{JobSign::finished}));
  const std::size_t events_before = told.size();
  rest(second, 1, 2, 200s);
  EXPECT_EQ(steps.size(), 1u) << "it is not told again";
  EXPECT_EQ(told.size(), events_before);
  ASSERT_TRUE(end);
  EXPECT_EQ(end->ending, archive::JobEnding::finished);
}

// A kill between the step and the next save: the watch that is restored had not told it yet.
TEST_F(JobRunTest, WhatTheWatchDoesNotKnowOfIsOver) {
  JobRun first = make();
  work(first, 900s);
  const auto saved = first.save();
  rest(first, 1, 2, 100s);
  ASSERT_EQ(steps.size(), 1u);
  ASSERT_EQ(steps[0].what, "finished");
  JobRun second = make();
  ASSERT_TRUE(second.restore(saved));
  second.recall(steps, base::MonoTime{} + passed);
  take(second.pass({kNoon + passed + 150s, base::MonoTime{} + passed + 150s}));
  EXPECT_FALSE(end) << "no still has shown it since";
  work(second, 400s);
  ASSERT_EQ(steps.size(), 2u);
  EXPECT_EQ(steps[1].what, "finished");
  EXPECT_TRUE(steps[1].over);
  EXPECT_EQ(steps[1].voice, archive::JobVoice::watch);
  EXPECT_TRUE(second.standing().empty());
  EXPECT_FALSE(end) << "it works";
}

TEST_F(JobRunTest, ARestartInTheHoldAsksAfterAHoldOfItsOwnAndNeverTwice) {
  settings.stop = {1, {JobSign::still}, 300s};
  JobRun first = make();
  work(first, 900s);
  rest(first, 18, 15, 340s);
  ASSERT_EQ(steps.size(), 1u);
  ASSERT_TRUE(pauses.empty());
  JobRun second = make();
  ASSERT_TRUE(second.restore(first.save()));
  second.recall(steps, base::MonoTime{} + passed);
  rest(second, 18, 15, 290s);
  EXPECT_TRUE(pauses.empty()) << "it holds";
  rest(second, 18, 15, 60s);
  EXPECT_EQ(pauses, (std::vector{JobSign::still}));
  JobRun third = make();
  ASSERT_TRUE(third.restore(second.save()));
  third.recall(steps, base::MonoTime{} + passed);
  rest(third, 18, 15, 900s);
  EXPECT_EQ(pauses.size(), 1u) << "it was asked for already";
}

TEST_F(JobRunTest, ARestartInTheHoldAsksForNothingWhereItGoesOn) {
  settings.stop = {1, {JobSign::still}, 60s};
  JobRun first = make();
  work(first, 900s);
  rest(first, 18, 15, 320s);
  ASSERT_EQ(steps.size(), 1u);
  JobRun second = make();
  ASSERT_TRUE(second.restore(first.save()));
  second.recall(steps, base::MonoTime{} + passed);
  work(second, 300s);
  EXPECT_TRUE(pauses.empty());
}

TEST_F(JobRunTest, SpoiltStatesChangeNothing) {
  JobRun run = make();
  work(run, 300s);
  const auto saved = run.save();
  EXPECT_FALSE(run.restore({}));
  EXPECT_FALSE(run.restore(std::span(saved).first(20)));
  auto never = saved;
  for (std::size_t i = 0; i < 8; ++i) never[i] = std::byte{0xff};
  EXPECT_FALSE(run.restore(never));
  EXPECT_EQ(run.save(), saved);
}

TEST_F(JobRunTest, ChangedSettingsKeepWhatWasLearned) {
  JobRun run = make();
  work(run, 900s);
  settings.still_after = 120s;
  archive::Job job = run.job();
  job.label = "vase";
  run.set(job, settings);
  EXPECT_EQ(run.job().label, "vase");
  EXPECT_EQ(run.now().phase, vision::JobPhase::working);
  rest(run, 18, 15, 150s);
  ASSERT_EQ(steps.size(), 1u);
  EXPECT_EQ(steps[0].what, "still");
}

TEST_F(JobRunTest, ItsEndEndsItsEvents) {
  JobRun run = make();
  work(run, 900s);
  rest(run, 18, 15, 400s);
  const auto ended = run.finish(kNoon + 1h);
  ASSERT_EQ(ended.size(), 1u);
  EXPECT_FALSE(ended[0].under_way);
  EXPECT_EQ(ended[0].end, kNoon + 1h);
  EXPECT_TRUE(run.standing().empty());
}

}  // namespace
}  // namespace rookery::station
