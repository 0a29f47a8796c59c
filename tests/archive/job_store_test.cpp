// Jobs in the catalog: begun, ended, judged; their steps, settings and films.
#include "archive/job_store.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <gtest/gtest.h>

#include <fstream>

#include "archive/camera_store.h"
#include "archive/film_store.h"
#include "tests/support/home_folder.h"

#include <boost/json/parse.hpp>

namespace rookery::archive {
namespace {

using namespace std::chrono_literals;
using base::ErrorCode;

const base::WallTime kNoon = base::parse_rfc3339("2026-03-01T12:00:00Z").value();
base::CameraName named(const char* text) { return base::CameraName::parse(text).value(); }

class JobStoreTest : public testing::Test {
 protected:
  JobStoreTest() : catalog(Catalog::open(folder.path()).value()), store(*catalog) {
    for (const char* name : {"anvil", "cog"}) {
      camera::Settings settings(named(name));
      settings.source = camera::Source::pushed;
      EXPECT_TRUE(CameraStore(*catalog).add(settings));
    }
  }
  Job begin(const char* camera, base::WallTime at, std::string label = {}) {
    Job job(named(camera));
    job.start = at;
    job.label = std::move(label);
    return store.start(job).value();
  }
  support::HomeFolder folder;
  std::unique_ptr<Catalog> catalog;
  JobStore store;
};

TEST_F(JobStoreTest, ACameraFilmsOneJobAtATime) {
  const Job first = begin("anvil", kNoon, "bracket");
  EXPECT_TRUE(first.under_way());
  Job second(named("anvil"));
  second.start = kNoon + 1s;
  EXPECT_EQ(store.start(second).error().code, ErrorCode::already_exists);
  begin("cog", kNoon);
  EXPECT_EQ(store.under_way().value().size(), 2u);
  const Job ended =
      store.end(first.id, {kNoon + 1h, JobEnding::failed, JobVoice::hand, "no filament"}).value();
  EXPECT_EQ(ended.ending, JobEnding::failed);
  EXPECT_FALSE(ended.ended_by_watch);
  EXPECT_EQ(store.end(first.id, {kNoon + 2h}).error().code, ErrorCode::already_exists);
  begin("anvil", kNoon + 2h);
}

TEST_F(JobStoreTest, WhatCannotBeIsRefused) {
  Job unknown(named("bay"));
  EXPECT_EQ(store.start(unknown).error().code, ErrorCode::not_found);
  Job job(named("anvil"));
  job.label = "a\tb";
  EXPECT_EQ(store.start(job).error().code, ErrorCode::invalid_value);
  for (const char* hidden :
       {"a\u061cb", "a\u200bb", "a\U000e0041", "\u3164", "\u2800", "\u1160x", "\uffa0"}) {
    job.label = hidden;
    EXPECT_EQ(store.start(job).error().code, ErrorCode::invalid_value) << hidden;
  }
  EXPECT_EQ(store.end(7, {kNoon}).error().code, ErrorCode::not_found);
  EXPECT_EQ(store.remove(7).error().code, ErrorCode::not_found);
  const Job begun = begin("anvil", kNoon);
  EXPECT_EQ(store.remove(begun.id).error().code, ErrorCode::busy);
}

TEST_F(JobStoreTest, OneTakesThePlaceOfAnotherOrNothingIsDone) {
  const Job first = begin("anvil", kNoon, "bracket");
  const JobEnd end{kNoon + 1h, JobEnding::ended, JobVoice::hook, "another one was started"};
  Job next(named("bay"));
  next.start = kNoon + 1h;
  EXPECT_EQ(store.replace(first.id, end, next).error().code, ErrorCode::not_found);
  EXPECT_TRUE(store.find(first.id)->under_way()) << "nothing took its place";
  next = Job(named("anvil"));
  next.start = kNoon + 1h;
  next.label = "a\tb";
  EXPECT_EQ(store.replace(first.id, end, next).error().code, ErrorCode::invalid_value);
  EXPECT_TRUE(store.find(first.id)->under_way());
  next.label = "vase";
  const Job second = store.replace(first.id, end, next, "by the software").value();
  EXPECT_EQ(store.find(first.id)->end, kNoon + 1h);
  EXPECT_TRUE(second.under_way());
  EXPECT_EQ(store.steps(second.id)->front().note, "by the software");
}

TEST_F(JobStoreTest, OnlyJobsOfCamerasThatWereRemovedEndForThat) {
  const Job stays = begin("anvil", kNoon);
  const Job goes = begin("cog", kNoon);
  ASSERT_TRUE(CameraStore(*catalog).remove(named("cog")));
  ASSERT_TRUE(store.end_of_removed({kNoon + 1h, JobEnding::ended, JobVoice::watch, "it was removed"}));
  EXPECT_TRUE(store.find(stays.id)->under_way());
  EXPECT_EQ(store.find(goes.id)->end, kNoon + 1h);
}

TEST_F(JobStoreTest, AnEndBeforeItsBeginIsAtItsBegin) {
  const Job job = begin("anvil", kNoon);
  EXPECT_EQ(store.end(job.id, {kNoon - 1h}).value().end, kNoon);
}

TEST_F(JobStoreTest, StepsStandInTheirOrder) {
  const Job job = begin("anvil", kNoon);
  JobStep step;
  step.job = job.id;
  step.at = kNoon + 10min;
  step.voice = JobVoice::watch;
  step.what = "still";
  step.sure = false;
  step.strength = 0.5;
  step.before = kNoon + 9min;
  step.note = std::string(900, 'n') + "\n";
  step.where = {0.1, 0.2, 0.3, 0.4};
  ASSERT_TRUE(store.add(step));
  step.job = 99;
  EXPECT_EQ(store.add(step).error().code, ErrorCode::not_found);
  const auto steps = store.steps(job.id).value();
  ASSERT_EQ(steps.size(), 2u);
  EXPECT_EQ(steps[0].what, "started");
  EXPECT_EQ(steps[1].before, kNoon + 9min);
  EXPECT_FALSE(steps[1].sure);
  EXPECT_EQ(steps[1].where.height, 0.4);
  EXPECT_LE(steps[1].note.size(), 210u);
  EXPECT_EQ(steps[1].note.find('\n'), std::string::npos);
}

TEST_F(JobStoreTest, WhoKnowsTheStepsUpToOneIsToldOnlyThoseAfterIt) {
  const Job job = begin("anvil", kNoon);
  const Job other = begin("cog", kNoon);
  JobStep step;
  for (const auto id : {job.id, other.id, job.id}) {
    step.job = id;
    ASSERT_TRUE(store.add(step).value());
  }
  const auto all = store.steps(job.id).value();
  ASSERT_EQ(all.size(), 3u);
  const auto later = store.steps(job.id, all[0].id).value();
  ASSERT_EQ(later.size(), 2u);
  EXPECT_EQ(later[0].id, all[1].id);
  EXPECT_EQ(later[1].id, all[2].id);
  EXPECT_TRUE(store.steps(job.id, all[2].id)->empty());
}

// Whoever has some of them need not look whether these are still there.
TEST_F(JobStoreTest, BeyondTheMostStepsNewOnesAreLeftOutAndNoOldOneGoes) {
  const Job job = begin("anvil", kNoon);
  JobStep step;
  step.job = job.id;
  step.voice = JobVoice::hook;
  step.what = "step";
  for (std::size_t i = 0; i < JobStore::kMostSteps; ++i) store.add_later(step);
  ASSERT_TRUE(catalog->flush());
  const auto before = store.steps(job.id).value();
  ASSERT_EQ(before.size(), JobStore::kMostSteps + 1) << "and its begin";
  EXPECT_FALSE(store.add(step).value());
  ASSERT_TRUE(store.end(job.id, {kNoon + 1h}));
  const auto after = store.steps(job.id, before.back().id).value();
  ASSERT_EQ(after.size(), 1u);
  EXPECT_EQ(after[0].what, "ended");
  EXPECT_EQ(store.steps(job.id)->front().id, before.front().id);
}

TEST_F(JobStoreTest, PagesGoDownTheLog) {
  for (int i = 0; i < 5; ++i) {
    const Job job = begin("anvil", kNoon + i * 1h);
    ASSERT_TRUE(store.end(job.id, {kNoon + i * 1h + 1min}));
  }
  JobQuery query;
  query.limit = 2;
  std::vector<std::int64_t> ids;
  for (int page = 0; page < 3; ++page) {
    const JobPage got = store.page(query).value();
    for (const Job& job : got.jobs) ids.push_back(job.id);
    query.before = got.next;
    EXPECT_EQ(got.next.has_value(), page < 2);
  }
  EXPECT_EQ(ids, (std::vector<std::int64_t>{5, 4, 3, 2, 1}));
  query = {};
  query.cameras = {named("cog")};
  EXPECT_TRUE(store.page(query).value().jobs.empty());
  query.cameras->clear();
  EXPECT_TRUE(store.page(query).value().jobs.empty());
}

TEST_F(JobStoreTest, FactsOfGoodJobsOnlyAreCompared) {
  const Job job = begin("anvil", kNoon);
  store.put_state_later(job.id, {std::byte{1}}, {100, 20, 0.1, 0.2}, kNoon);
  ASSERT_TRUE(catalog->flush());
  EXPECT_EQ(store.state(job.id).value()->bytes.size(), 1u);
  ASSERT_TRUE(store.end(job.id, {kNoon + 1h}));
  EXPECT_FALSE(store.state(job.id).value().has_value()) << "what it has learned goes with its end";
  EXPECT_TRUE(store.facts_of_good(named("anvil")).value().empty());
  ASSERT_TRUE(store.judge(job.id, true));
  ASSERT_EQ(store.facts_of_good(named("anvil")).value().size(), 1u);
  EXPECT_EQ(store.facts_of_good(named("anvil")).value()[0].longest_quiet_s, 20);
  ASSERT_TRUE(store.judge(job.id, false));
  EXPECT_TRUE(store.facts_of_good(named("anvil")).value().empty());
}

TEST_F(JobStoreTest, AnEndWantsItsFilmUnlessNoneIsMade) {
  const FilmStore films(*catalog);
  const Job job = begin("anvil", kNoon);
  EXPECT_EQ(FilmStore(*catalog).want(job.id, 30).error().code, ErrorCode::busy);
  ASSERT_TRUE(store.end(job.id, {kNoon + 1h}));
  ASSERT_TRUE(films.find(job.id).value().has_value());
  EXPECT_EQ(films.find(job.id).value()->state, FilmState::wanted);
  JobSettings none;
  none.film.reset();
  ASSERT_TRUE(store.set_settings(named("anvil"), none));
  const Job other = begin("anvil", kNoon + 2h);
  ASSERT_TRUE(store.end(other.id, {kNoon + 3h}));
  EXPECT_FALSE(films.find(other.id).value().has_value());
  ASSERT_TRUE(FilmStore(*catalog).want(other.id, 10));
  EXPECT_EQ(films.next_wanted().value()->job, job.id) << "the one that has waited longest";
  ASSERT_TRUE(FilmStore(*catalog).note_made(job.id, 5, "", kNoon));
  EXPECT_EQ(films.next_wanted().value()->job, other.id);
  EXPECT_EQ(FilmStore(*catalog).want(other.id, 0).error().code, ErrorCode::invalid_value);
}

TEST_F(JobStoreTest, AFilmsBeginsAreCountedUntilItIsPutBackOrWantedAnew) {
  const Job job = begin("anvil", kNoon);
  ASSERT_TRUE(store.end(job.id, {kNoon + 1h}));
  FilmStore films(*catalog);
  const auto begun = [&] { return films.find(job.id).value()->begun; };
  EXPECT_EQ(begun(), 0);
  ASSERT_TRUE(films.note_begun(job.id));
  ASSERT_TRUE(films.note_begun(job.id));
  EXPECT_EQ(films.next_wanted().value()->begun, 2);
  films.put_back_later(job.id);
  ASSERT_TRUE(catalog->flush());
  EXPECT_EQ(begun(), 0);
  ASSERT_TRUE(films.note_begun(job.id));
  ASSERT_TRUE(films.want(job.id, 10));
  EXPECT_EQ(begun(), 0);
  EXPECT_TRUE(films.note_begun(job.id + 1)) << "it changes nothing";
}

TEST_F(JobStoreTest, WhatIsForgottenTakesItsFilmAlong) {
  const Job job = begin("anvil", kNoon);
  ASSERT_TRUE(store.end(job.id, {kNoon + 1h}));
  const auto file = film_file(folder.path(), job.id);
  std::filesystem::create_directories(file);  // with something in it: no file that can be removed
  std::filesystem::create_directories(file / "full");
  EXPECT_FALSE(store.remove(job.id));
  EXPECT_TRUE(store.find(job.id)) << "nothing has changed";
  std::filesystem::remove_all(file);
  std::ofstream(file) << "film";
  ASSERT_TRUE(store.remove(job.id));
  EXPECT_FALSE(std::filesystem::exists(file));
  FilmStore films(*catalog);
  EXPECT_FALSE(films.find(job.id).value().has_value());
  EXPECT_EQ(films.note_made(job.id, 5, "", kNoon).error().code, ErrorCode::not_found)
      << "forgotten while it was made";
  EXPECT_EQ(films.note_failed(job.id, "why").error().code, ErrorCode::not_found);
}

TEST_F(JobStoreTest, SettingsComeBackAsTheyAre) {
  EXPECT_EQ(store.settings(named("anvil")).value(), JobSettings{});
  JobSettings settings;
  settings.by_movement = true;
  settings.still_every = 2500ms;
  settings.expected = 4h;
  settings.bed = vision::PictureShare{0.25, 0.25, 0.5, 0.5};
  settings.tell = {vision::JobSign::still};
  settings.hours = {{0x1f, 480, 600min}};
  settings.film.reset();
  settings.stop = {3, {vision::JobSign::still}, 90s};
  ASSERT_TRUE(store.set_settings(named("anvil"), settings));
  EXPECT_EQ(store.settings(named("anvil")).value(), settings);
  EXPECT_EQ(store.all_settings().value().size(), 1u);
  EXPECT_EQ(store.settings(named("bay")).error().code, ErrorCode::not_found);
}

TEST_F(JobStoreTest, OfSettingsThatCannotAllBeReadTheRestHolds) {
  const auto stored = [&](const char* text) {
    EXPECT_TRUE(store.set_settings(named("anvil"), {}));
    EXPECT_TRUE(catalog->write([&](SQLite::Database& db) -> base::Result<void> {
      SQLite::Statement update(db, "UPDATE job_settings SET settings = ?");
      update.bind(1, std::string(text));
      update.exec();
      return base::ok();
    }));
    return store.settings(named("anvil")).value();
  };
  const JobSettings later = stored(R"({"of_a_later_version":1,"keep_stills_h":87600,"film_s":10})");
  EXPECT_EQ(later.keep_stills, std::chrono::hours{87600});
  EXPECT_EQ(later.film, 10s);
  EXPECT_EQ(later.tell, JobSettings::every_sign());
  for (const char* spoilt : {"{", "[]", R"({"keep_stills_h":"long"})"})
    EXPECT_EQ(stored(spoilt).keep_stills, std::chrono::hours{87600}) << spoilt << ": nothing goes for that";
}

TEST(JobSettings, WrongMembersAreNamed) {
  const auto change = [](const char* text) {
    return change_job_settings({}, boost::json::parse(text).as_object());
  };
  for (const auto& [text, said] : std::vector<std::pair<const char*, const char*>>{
           {R"({"still_every_s":0.1})", "still_every_s"},
           {R"({"still_every_s":"5"})", "still_every_s"},
           {R"({"by_movement":1})", "by_movement"},
           {R"({"bed":{"x":0.9,"y":0,"w":0.5,"h":0.5}})", "bed"},
           {R"({"bed":{"x":0.9,"y":0,"w":0.1}})", "bed"},
           {R"({"tell":["mess"]})", "mess"},
           {R"({"hours":[{"days":0,"from_min":0,"length_min":5}]})", "days"},
           {R"({"hours":[{"days":1,"from_min":0,"length_min":5,"more":1}]})", "hours"},
           {R"({"stop":{"receiver":1,"signs":["finished"],"hold_s":60}})", "finished"},
           {R"({"stop":{"receiver":1,"signs":[],"hold_s":1}})", "hold_s"},
           {R"({"colour":1})", "colour"}}) {
    const auto changed = change(text);
    ASSERT_FALSE(changed) << text;
    EXPECT_NE(changed.error().text().find(said), std::string::npos) << changed.error().text();
  }
  EXPECT_TRUE(change(R"({"expected_s":null,"film_s":null,"hours":[]})"));
}

// The second look must come while the watch can still give it.
TEST(JobStop, ALongHoldIsShorterForWhatCannotBeConfirmedLater) {
  for (const int hold_s : {10, 240, 600, 3600}) {
    const JobStop stop{.receiver = 1, .signs = {}, .hold = std::chrono::seconds(hold_s)};
    EXPECT_EQ(hold_of(stop, vision::JobSign::still).count(), hold_s);
    EXPECT_EQ(hold_of(stop, vision::JobSign::loose).count(), std::min(hold_s, 240));
  }
}

}  // namespace
}  // namespace rookery::archive
