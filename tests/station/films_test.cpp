// The films of jobs: made when wanted, also by the next start; gone with their job.
#include "station/films.h"

#include <SQLiteCpp/SQLiteCpp.h>

#include "archive/camera_store.h"
#include "tests/archive/archive_support.h"
#include "tests/support/eventually.h"

namespace rookery::station {
namespace {

using namespace std::chrono_literals;
using archive::FilmState;

class FilmsTest : public archive::test::Hall {
 protected:
  FilmsTest() : films(*catalog), jobs(*catalog), retention(*catalog, clock, disk) {
    camera::Settings settings(anvil);
    settings.source = camera::Source::pushed;
    EXPECT_TRUE(archive::CameraStore(*catalog).add(settings));
  }
  // A job of so many stills, ended.
  std::int64_t job_of(int stills) {
    archive::Job job(anvil);
    job.start = clock.wall();
    const auto id = jobs.start(job).value().id;
    {
      archive::Recorder recorder(*catalog, options(), clock);
      for (int i = 0; i < stills; ++i) {
        recorder.record(anvil, frame(), archive::Track::stills);
        clock.pass(5s);
      }
    }
    clock.pass(1s);
    EXPECT_TRUE(jobs.end(id, {clock.wall()}));
    return id;
  }
  FilmState state(std::int64_t job) const { return films.find(job).value()->state; }
  std::filesystem::path file(std::int64_t job) const { return archive::film_file(folder.path(), job); }
  FilmLimits limits() const { return {.look_every = 5ms, .keep_free_bytes = 0}; }

  const base::CameraName anvil = archive::test::name("anvil");
  archive::FilmStore films;
  archive::JobStore jobs;
  archive::Retention retention;
};

TEST_F(FilmsTest, AFilmThatIsWantedIsMadeByWhateverRunsNext) {
  const auto id = job_of(40);
  EXPECT_EQ(state(id), FilmState::wanted);
  { const Films never_started(*catalog, clock, retention, limits(), disk); }
  EXPECT_EQ(state(id), FilmState::wanted) << "a stop before it was made";
  Films next(*catalog, clock, retention, limits(), disk);
  next.start();
  ASSERT_TRUE(test::eventually([&] { return state(id) != FilmState::wanted; }));
  EXPECT_EQ(state(id), FilmState::made) << films.find(id).value()->told;
  EXPECT_TRUE(std::filesystem::exists(file(id)));
  EXPECT_GT(films.find(id).value()->bytes, 0u);
}

// What such a film leaves behind: its row, counted as begun each time.
TEST_F(FilmsTest, OneThatEndsTheStationAgainAndAgainHasFailedAndIsMadeOnlyWhenWantedAnew) {
  const auto id = job_of(40);
  const auto other = job_of(20);
  for (int i = 0; i < Films::kMostBegun; ++i) ASSERT_TRUE(films.note_begun(id));
  ASSERT_TRUE(films.note_begun(other));
  Films made(*catalog, clock, retention, limits(), disk);
  made.start();
  ASSERT_TRUE(test::eventually([&] { return state(other) == FilmState::made; })) << "it waits behind";
  ASSERT_EQ(state(id), FilmState::failed);
  const std::string told = films.find(id).value()->told;
  EXPECT_NE(told.find("3 times"), std::string::npos) << told;
  EXPECT_NE(told.find("Want it anew"), std::string::npos) << told;
  EXPECT_FALSE(std::filesystem::exists(file(id)));
  ASSERT_TRUE(films.want(id, 30));
  made.wake();
  ASSERT_TRUE(test::eventually([&] { return state(id) != FilmState::wanted; }));
  EXPECT_EQ(state(id), FilmState::made) << films.find(id).value()->told;
}

TEST_F(FilmsTest, OneThatAStopInterruptsDoesNotCountAsBegun) {
  const auto id = job_of(200);
  // A stop may come too late for it.
  for (int i = 0; i < 10 && (i == 0 || state(id) == FilmState::made); ++i) {
    ASSERT_TRUE(films.want(id, 30));
    Films made(*catalog, clock, retention, limits(), disk);
    made.start();
    ASSERT_TRUE(test::eventually([&] { return made.progress(id) || state(id) == FilmState::made; }));
    made.stop();
  }
  ASSERT_EQ(state(id), FilmState::wanted);
  ASSERT_TRUE(catalog->flush());
  EXPECT_EQ(films.find(id).value()->begun, 0);
}

TEST_F(FilmsTest, AJobWithoutPicturesSaysWhyThereIsNone) {
  const auto id = job_of(0);
  Films made(*catalog, clock, retention, limits(), disk);
  made.start();
  ASSERT_TRUE(test::eventually([&] { return state(id) == FilmState::failed; }));
  EXPECT_NE(films.find(id).value()->told.find("nothing is recorded"), std::string::npos);
}

TEST_F(FilmsTest, AJobOfTwoPicturesHasAFilmOrAReason) {
  const auto id = job_of(2);
  Films made(*catalog, clock, retention, limits(), disk);
  made.start();
  ASSERT_TRUE(test::eventually([&] { return state(id) != FilmState::wanted; }));
  EXPECT_TRUE(std::filesystem::exists(file(id)) || !films.find(id).value()->told.empty());
}

TEST_F(FilmsTest, AFullDiskLetsItWait) {
  const auto id = job_of(40);
  disk.pretended_free_bytes = 1000;
  FilmLimits much = limits();
  much.keep_free_bytes = 1 << 20;
  {
    Films waiting(*catalog, clock, retention, much, disk);
    waiting.start();
    waiting.wake();
    waiting.stop();
  }
  EXPECT_EQ(state(id), FilmState::wanted);
}

TEST_F(FilmsTest, OnASmallDiskHalfOfItIsAllThatIsKeptFree) {
  const auto id = job_of(40);
  disk.pretended_free_bytes = archive::real_disk().space(folder.path()).value().total_bytes;
  FilmLimits much = limits();
  much.keep_free_bytes = 1ull << 60;
  Films made(*catalog, clock, retention, much, disk);
  made.start();
  EXPECT_TRUE(test::eventually([&] { return state(id) == FilmState::made; }));
}

TEST_F(FilmsTest, WhatIsForgottenOrTooOldIsRemoved) {
  const auto forgotten = job_of(20);
  const auto old = job_of(20);
  const auto good = job_of(20);
  Films made(*catalog, clock, retention, limits(), disk);
  made.start();
  for (const auto id : {forgotten, old, good})
    ASSERT_TRUE(test::eventually([&, id] { return state(id) == FilmState::made; }));
  std::ofstream(file(1).parent_path() / ".9.mp4.0badcafe.part") << "half";
  ASSERT_TRUE(jobs.judge(good, true));
  ASSERT_TRUE(jobs.remove(forgotten));
  EXPECT_FALSE(std::filesystem::exists(file(forgotten)));
  EXPECT_TRUE(std::filesystem::exists(file(old)));
  ASSERT_TRUE(retention.run(0));
  clock.pass(std::chrono::hours{24 * 40});
  ASSERT_TRUE(retention.run(0));
  ASSERT_TRUE(test::eventually([&] { return !std::filesystem::exists(file(old)); }));
  EXPECT_TRUE(std::filesystem::exists(file(good)));
  EXPECT_TRUE(test::eventually(
      [&] { return !std::filesystem::exists(file(1).parent_path() / ".9.mp4.0badcafe.part"); }));
}

TEST_F(FilmsTest, WhatCannotBeMadeAnewStaysAsItWas) {
  const auto id = job_of(20);
  Films made(*catalog, clock, retention, limits(), disk);
  made.start();
  ASSERT_TRUE(test::eventually([&] { return state(id) == FilmState::made; }));
  const auto first = films.find(id).value();
  ASSERT_TRUE(catalog->write([](SQLite::Database& db) -> base::Result<void> {
    db.exec("DELETE FROM segment");  // as age does
    return base::ok();
  }));
  ASSERT_TRUE(films.want(id, 10));
  made.wake();
  ASSERT_TRUE(test::eventually([&] { return state(id) != FilmState::wanted; }));
  const auto now = films.find(id).value();
  EXPECT_EQ(now->state, FilmState::made);
  EXPECT_EQ(now->made, first->made);
  EXPECT_EQ(now->bytes, first->bytes);
  EXPECT_NE(now->told.find("anew"), std::string::npos) << now->told;
  EXPECT_TRUE(std::filesystem::exists(file(id)));
  ASSERT_TRUE(retention.run(0));
  clock.pass(std::chrono::hours{24 * 40});
  ASSERT_TRUE(retention.run(0));
  EXPECT_TRUE(test::eventually([&] { return !std::filesystem::exists(file(id)); })) << "and it ages";
}

// As after `archive rebuild`: the numbers of jobs begin anew as well.
TEST_F(FilmsTest, ALostCatalogTakesNoFilm) {
  const auto id = job_of(20);
  {
    Films made(*catalog, clock, retention, limits(), disk);
    made.start();
    ASSERT_TRUE(test::eventually([&] { return state(id) == FilmState::made; }));
  }
  const auto bytes = std::filesystem::file_size(file(id));
  ASSERT_TRUE(catalog->write([](SQLite::Database& db) -> base::Result<void> {
    db.exec("DELETE FROM job; DELETE FROM sqlite_sequence WHERE name = 'job'");
    return base::ok();
  }));
  clock.pass(std::chrono::hours{1});
  ASSERT_EQ(job_of(20), id);
  Films next(*catalog, clock, retention, limits(), disk);
  next.start();
  ASSERT_TRUE(test::eventually([&] { return state(id) == FilmState::made; }));
  const auto aside = file(id).parent_path() / "aside";
  std::vector<std::filesystem::path> kept;
  if (std::filesystem::exists(aside)) {
    for (const auto& entry : std::filesystem::directory_iterator(aside)) kept.push_back(entry.path());
  }
  ASSERT_EQ(kept.size(), 1u);
  EXPECT_EQ(std::filesystem::file_size(kept[0]), bytes);
  EXPECT_TRUE(std::filesystem::exists(file(id))) << "and the new job has its own";
}

TEST_F(FilmsTest, AClockThatRanAheadTakesNoFilm) {
  const auto id = job_of(20);
  Films made(*catalog, clock, retention, limits(), disk);
  made.start();
  ASSERT_TRUE(test::eventually([&] { return state(id) == FilmState::made; }));
  const auto looks = [&](std::string_view stray) {  // a whole tidying is over once the next has begun
    for (int i = 0; i < 2; ++i) {
      const auto part = file(1).parent_path() / stray;
      std::ofstream(part) << "half";
      ASSERT_TRUE(test::eventually([&] { return !std::filesystem::exists(part); }));
    }
  };
  const auto right = clock.wall();
  clock.set_wall(right + std::chrono::hours{24 * 365});
  looks(".8.mp4.0badcafe.part");
  EXPECT_EQ(state(id), FilmState::made) << "before the first round of retention nothing has an age";
  clock.set_wall(right);
  ASSERT_TRUE(retention.run(0));
  clock.pass(5s);
  clock.set_wall(right + std::chrono::hours{24 * 365});
  ASSERT_TRUE(retention.run(0));
  looks(".9.mp4.0badcafe.part");
  ASSERT_EQ(state(id), FilmState::made);
  EXPECT_TRUE(std::filesystem::exists(file(id)));
}

}  // namespace
}  // namespace rookery::station
