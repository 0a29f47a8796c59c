// What retention leaves of jobs that are over and of their films: the newest, and what a person judged good.
#include <fstream>

#include "archive/camera_store.h"
#include "archive/film_store.h"
#include "archive/job_store.h"
#include "archive/retention.h"
#include "tests/archive/archive_support.h"

namespace rookery::archive {
namespace {

using namespace std::chrono_literals;

class RetentionOfJobs : public test::Hall {
 protected:
  RetentionOfJobs() : jobs(*catalog), films(*catalog) {
    for (const base::CameraName& name : {anvil, bobbin}) {
      camera::Settings settings(name);
      settings.source = camera::Source::pushed;
      EXPECT_TRUE(CameraStore(*catalog).add(settings));
      JobSettings none;
      none.film.reset();
      EXPECT_TRUE(jobs.set_settings(name, none));
    }
  }
  std::int64_t begin(const base::CameraName& camera, std::optional<base::WallTime> at = {}) {
    Job job(camera);
    job.start = at.value_or(clock.wall());
    return jobs.start(job).value().id;
  }
  std::int64_t over(const base::CameraName& camera, std::optional<base::WallTime> at = {}) {
    const auto id = begin(camera, at);
    clock.pass(1min);
    EXPECT_TRUE(jobs.end(id, {clock.wall()}));
    return id;
  }
  // Of a new job, and made.
  std::int64_t film(std::uint64_t bytes) {
    const auto id = over(anvil);
    EXPECT_TRUE(films.want(id, 30));
    std::filesystem::create_directories(file(id).parent_path());
    std::ofstream(file(id)) << "film";
    EXPECT_TRUE(films.note_made(id, bytes, "", clock.wall()));
    return id;
  }
  std::filesystem::path file(std::int64_t job) const { return film_file(folder.path(), job); }
  bool has_film(std::int64_t job) const {
    const bool is_there = std::filesystem::exists(file(job));
    EXPECT_EQ(is_there, films.find(job)->has_value()) << job;
    return is_there;
  }
  void round(JobBounds bounds) { EXPECT_TRUE(Retention(*catalog, clock, disk, bounds).run(0)); }
  std::vector<std::int64_t> left(const base::CameraName& camera) const {
    JobQuery query;
    query.cameras = {camera};
    query.limit = 500;
    std::vector<std::int64_t> ids;
    const JobPage page = jobs.page(query).value();
    for (const Job& job : page.jobs) ids.push_back(job.id);
    std::ranges::sort(ids);
    return ids;
  }
  using Ids = std::vector<std::int64_t>;
  JobStore jobs;
  FilmStore films;
};

TEST_F(RetentionOfJobs, TheOldestBeyondTheMostAreForgottenEachCameraForItself) {
  const auto good = over(anvil);
  const auto bad = film(10);
  const auto third = over(anvil);
  const Ids newest = {over(anvil), over(anvil), over(anvil)};
  const auto under_way = begin(anvil);
  const auto other = over(bobbin);
  ASSERT_TRUE(jobs.judge(good, true));
  ASSERT_TRUE(jobs.judge(bad, false));
  round({.most_each = 5});
  EXPECT_EQ(left(anvil).size(), 7u) << "none is beyond";
  round({.most_each = 3});
  EXPECT_EQ(left(anvil), (Ids{good, newest[0], newest[1], newest[2], under_way}));
  EXPECT_EQ(left(bobbin), Ids{other});
  EXPECT_TRUE(jobs.steps(third)->empty());
  EXPECT_FALSE(has_film(bad));
}

TEST_F(RetentionOfJobs, WhatBeganByAWrongClockIsNotTheOldest) {
  over(anvil);
  const Ids newest = {over(anvil), over(anvil, base::WallTime{24h})};
  round({.most_each = 2});
  EXPECT_EQ(left(anvil), newest);
}

TEST_F(RetentionOfJobs, OneWhoseFilmCannotBeDeletedStaysAndTheOthersGo) {
  const auto stuck = over(anvil);
  over(anvil);
  const auto newest = over(anvil);
  std::filesystem::create_directories(file(stuck));
  round({.most_each = 1});
  EXPECT_EQ(left(anvil), (Ids{stuck, newest}));
  std::filesystem::remove(file(stuck));
  round({.most_each = 1});
  EXPECT_EQ(left(anvil), Ids{newest});
}

TEST_F(RetentionOfJobs, ManyGoInMoreThanOneRound) {
  for (int i = 0; i < 70; ++i) over(anvil);
  round({.most_each = 2});
  EXPECT_EQ(left(anvil).size(), 6u);
  round({.most_each = 2});
  EXPECT_EQ(left(anvil), (Ids{69, 70}));
}

TEST_F(RetentionOfJobs, TheOldestFilmsBeyondTheirBytesAreRemovedAndTheirJobsStay) {
  const auto anew = film(10);
  const auto good = film(10);
  const auto old = film(10);
  const auto older_but_wanted_later = film(10);
  const auto newest = film(10);
  ASSERT_TRUE(films.want(older_but_wanted_later, 10));
  ASSERT_TRUE(films.note_made(older_but_wanted_later, 10, "", clock.wall()));
  ASSERT_TRUE(films.want(anew, 10));
  ASSERT_TRUE(jobs.judge(good, true));
  round({.films_bytes = 30});
  EXPECT_TRUE(has_film(old)) << "30 bytes are no more than 30";
  round({.films_bytes = 25});
  EXPECT_FALSE(has_film(old));
  EXPECT_TRUE(has_film(good));
  EXPECT_TRUE(has_film(anew)) << "its file may be replaced at any moment";
  round({.films_bytes = 15});
  EXPECT_FALSE(has_film(newest)) << "the other was wanted later";
  EXPECT_TRUE(has_film(older_but_wanted_later));
  EXPECT_EQ(left(anvil).size(), 5u);
}

TEST_F(RetentionOfJobs, UnlessSetFilmsTakeATenthOfTheDisk) {
  const std::uint64_t disk_bytes = disk.space(folder.path())->total_bytes;
  const auto old = film(disk_bytes / 10);
  const auto newest = film(10);
  round({});
  EXPECT_FALSE(has_film(old));
  EXPECT_TRUE(has_film(newest));
}

}  // namespace
}  // namespace rookery::archive
