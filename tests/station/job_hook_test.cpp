// What a machine's software says: twice, late, in the wrong order.
#include "station/job_hook.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <gtest/gtest.h>

#include <atomic>
#include <barrier>
#include <thread>

#include "archive/camera_store.h"
#include "station/job_hours.h"
#include "tests/support/home_folder.h"

namespace rookery::station {
namespace {

using namespace std::chrono_literals;
using Did = HookAnswer::Did;
using archive::JobEnding;
using archive::JobVoice;

const base::WallTime kNoon = base::parse_rfc3339("2026-03-01T12:00:00Z").value();

class JobHookTest : public testing::Test {
 protected:
  JobHookTest() : catalog(archive::Catalog::open(folder.path()).value()), store(*catalog) {
    camera::Settings settings(camera);
    settings.source = camera::Source::pushed;
    EXPECT_TRUE(archive::CameraStore(*catalog).add(settings));
  }
  HookAnswer say(HookWhat what, std::string label = {}, std::chrono::seconds after = 0s) {
    return take_hook(store, camera, {.what = what, .label = std::move(label)}, kNoon + after, {}).value();
  }
  support::HomeFolder folder;
  std::unique_ptr<archive::Catalog> catalog;
  archive::JobStore store;
  base::CameraName camera = base::CameraName::parse("anvil").value();
};

TEST_F(JobHookTest, FromBeginToEnd) {
  const HookAnswer began = say(HookWhat::started, "bracket");
  EXPECT_EQ(began.did, Did::started);
  EXPECT_EQ(began.job->began, JobVoice::hook);
  EXPECT_EQ(say(HookWhat::step, "", 60s).did, Did::noted);
  const HookAnswer ended = say(HookWhat::finished, "", 3600s);
  EXPECT_EQ(ended.did, Did::ended);
  EXPECT_EQ(ended.job->ending, JobEnding::finished);
  EXPECT_EQ(store.steps(began.job->id).value().size(), 3u);
}

TEST_F(JobHookTest, TwiceIsOnce) {
  say(HookWhat::started, "bracket");
  const HookAnswer again = say(HookWhat::started, "bracket", 5s);
  EXPECT_EQ(again.did, Did::nothing);
  EXPECT_NE(again.why.find("already"), std::string::npos);
  EXPECT_EQ(say(HookWhat::started, "", 6s).did, Did::nothing);
  say(HookWhat::failed, "", 60s);
  EXPECT_EQ(say(HookWhat::failed, "", 61s).did, Did::nothing);
  EXPECT_EQ(store.page({}).value().jobs.size(), 1u);
}

TEST_F(JobHookTest, AtTheSameMomentIsNoErrorEither) {
  for (int round = 0; round < 20; ++round) {
    for (const HookWhat what : {HookWhat::started, HookWhat::finished}) {
      std::atomic<int> refused{0};
      std::atomic<int> done{0};
      {
        std::barrier together(8);
        std::vector<std::jthread> callers;
        for (int i = 0; i < 8; ++i) {
          callers.emplace_back([&] {
            together.arrive_and_wait();
            const auto answer = take_hook(store, camera, {.what = what, .label = "bracket"}, kNoon, {});
            if (!answer) {
              ++refused;
            } else if (answer->did != Did::nothing) {
              ++done;
            }
          });
        }
      }
      EXPECT_EQ(refused, 0);
      EXPECT_EQ(done, 1);
    }
  }
}

TEST_F(JobHookTest, AnotherLabelIsAnotherJob) {
  const HookAnswer first = say(HookWhat::started, "bracket");
  const HookAnswer second = say(HookWhat::started, "vase", 60s);
  EXPECT_EQ(second.did, Did::started);
  EXPECT_EQ(store.find(first.job->id).value().ending, JobEnding::ended);
  EXPECT_EQ(store.under_way().value().size(), 1u);
}

TEST_F(JobHookTest, WhateverTheSoftwareCallsItTheJobIsWatched) {
  say(HookWhat::started, "first part");
  std::int64_t last = 0;
  for (const std::string& called :
       {std::string(71, 'x') + ".gcode", std::string("a\x1b[31m"), std::string("vase\n"), std::string("  "),
        std::string("va\u200bse"), std::string("\xff\xfe part"), std::string(63, 'y') + " z"}) {
    const HookAnswer began = say(HookWhat::started, called, 60s);
    if (called == "  ") {
      EXPECT_EQ(began.did, Did::nothing) << "no label: the same job";
      continue;
    }
    ASSERT_EQ(began.did, Did::started) << called;
    EXPECT_NE(began.job->id, last);
    last = began.job->id;
    EXPECT_FALSE(began.job->label.empty());
    EXPECT_EQ(say(HookWhat::started, called, 61s).did, Did::nothing) << called << ": twice is once";
    EXPECT_EQ(store.under_way().value().size(), 1u);
  }
}

TEST_F(JobHookTest, ManyStepsCrowdOutNeitherTheEndNorWhatTheWatchSees) {
  const auto id = say(HookWhat::started, "bracket").job->id;
  ASSERT_TRUE(catalog->write([](SQLite::Database& db) -> base::Result<void> {
    db.exec(
        "INSERT INTO job_step(job, at_us, voice, what, note, is_over, strength, sure, x, y, w, h) WITH "
        "RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 5000) SELECT (SELECT max(id) "
        "FROM job), 0, 'hook', 'step', '', 0, 0, 1, 0, 0, 0, 0 FROM n");
    return base::ok();
  }));
  const HookAnswer more = say(HookWhat::step, "", 60s);
  EXPECT_EQ(more.did, Did::nothing) << "and that is said";
  EXPECT_NE(more.why.find("steps"), std::string::npos);
  archive::JobStep seen;
  seen.job = id;
  seen.at = kNoon + 100s;
  seen.voice = JobVoice::watch;
  seen.what = "still";
  EXPECT_TRUE(store.add(seen).value());
  EXPECT_EQ(say(HookWhat::failed, "", 200s).did, Did::ended);
  EXPECT_EQ(store.steps(id)->back().what, "failed");
  EXPECT_EQ(store.steps(id)->size(), 5003u);
}

TEST_F(JobHookTest, WithoutAJobNothingIsDone) {
  for (const HookWhat what : {HookWhat::step, HookWhat::finished, HookWhat::failed}) {
    const HookAnswer answer = say(what);
    EXPECT_EQ(answer.did, Did::nothing);
    EXPECT_FALSE(answer.why.empty());
  }
  EXPECT_TRUE(store.page({}).value().jobs.empty());
}

TEST_F(JobHookTest, WhatTheWatchBeganGetsItsName) {
  archive::Job job(camera);
  job.began = JobVoice::watch;
  job.start = kNoon;
  const auto seen = store.start(job).value();
  const HookAnswer named = say(HookWhat::started, "bracket", 90s);
  EXPECT_EQ(named.did, Did::noted);
  EXPECT_EQ(named.job->id, seen.id);
  EXPECT_EQ(named.job->label, "bracket");
}

TEST_F(JobHookTest, AnEndThatComesAfterTheWatchsIsTheEnd) {
  say(HookWhat::started, "bracket");
  const auto job = store.under_way().value().front();
  ASSERT_TRUE(store.end(job.id, {kNoon + 1h, JobEnding::finished, JobVoice::watch, {}}));
  const HookAnswer late = say(HookWhat::failed, "", 3600s + 300s);
  EXPECT_EQ(late.did, Did::noted);
  EXPECT_EQ(store.find(job.id).value().ending, JobEnding::failed);
  EXPECT_EQ(say(HookWhat::failed, "", 3600s + 301s).did, Did::nothing);
  EXPECT_EQ(say(HookWhat::finished, "", 7200s).did, Did::nothing) << "too late";
}

TEST_F(JobHookTest, APersonsEndStands) {
  say(HookWhat::started, "bracket");
  const auto job = store.under_way().value().front();
  ASSERT_TRUE(store.end(job.id, {kNoon + 1h, JobEnding::failed, JobVoice::hand, {}}));
  EXPECT_EQ(say(HookWhat::finished, "", 3600s + 60s).did, Did::nothing);
  EXPECT_EQ(store.find(job.id).value().ending, JobEnding::failed);
}

// By a zone with daylight saving: Berlin, which on 29 March 2026 goes from 02:00 to 03:00 and on 25 October
// from 03:00 back to 02:00 (IANA time zone database).
class HoursTest : public testing::Test {
 protected:
  HoursTest() {
    const char* zone = std::getenv("TZ");
    if (zone != nullptr) before_ = zone;
    ::setenv("TZ", "Europe/Berlin", 1);
    ::tzset();
  }
  ~HoursTest() override {
    if (before_) {
      ::setenv("TZ", before_->c_str(), 1);
    } else {
      ::unsetenv("TZ");
    }
    ::tzset();
  }
  static std::string began(const archive::JobHours& hours, const char* at) {
    const auto found = hours_began(hours, base::parse_rfc3339(at).value());
    return found ? base::to_rfc3339(*found).substr(0, 16) : "-";
  }

 private:
  std::optional<std::string> before_;
};

TEST_F(HoursTest, HoldFromTheirBeginToTheirEnd) {
  const archive::JobHours hours{0x7f, 8 * 60, std::chrono::hours(2)};
  EXPECT_EQ(began(hours, "2026-03-02T06:59:59Z"), "-");
  EXPECT_EQ(began(hours, "2026-03-02T07:00:00Z"), "2026-03-02T07:00");
  EXPECT_EQ(began(hours, "2026-03-02T08:59:59Z"), "2026-03-02T07:00");
  EXPECT_EQ(began(hours, "2026-03-02T09:00:00Z"), "-");
}

TEST_F(HoursTest, OnlyOnTheirDaysAlsoOverMidnight) {
  const archive::JobHours monday{0x01, 22 * 60, std::chrono::hours(8)};
  EXPECT_EQ(began(monday, "2026-03-03T03:00:00Z"), "2026-03-02T21:00");  // Tuesday morning
  EXPECT_EQ(began(monday, "2026-03-03T23:00:00Z"), "-");
}

TEST_F(HoursTest, TheHourThatIsNotThereAndTheOneThatComesTwice) {
  const archive::JobHours night{0x7f, 2 * 60 + 30, std::chrono::hours(3)};
  EXPECT_EQ(began(night, "2026-03-29T01:45:00Z"), "2026-03-29T01:30");  // 03:45 by the new time
  const auto autumn = began(night, "2026-10-25T02:00:00Z");
  EXPECT_TRUE(autumn == "2026-10-25T00:30" || autumn == "2026-10-25T01:30") << autumn;
  // One begin, whichever of the two it is.
  EXPECT_EQ(began(night, "2026-10-25T02:10:00Z"), autumn);
}

}  // namespace
}  // namespace rookery::station
