// A job's stills: a track of their own beside the recording.
#include "archive/camera_store.h"
#include "archive/film_store.h"
#include "archive/job_store.h"
#include "archive/playback.h"
#include "archive/recorded_pictures.h"
#include "archive/retention.h"
#include "tests/archive/archive_support.h"

namespace rookery::archive {
namespace {

using namespace std::chrono_literals;

class StillsTrackTest : public test::Hall {
 protected:
  StillsTrackTest() : stills(*catalog, Track::stills) {
    camera::Settings settings(anvil);
    settings.source = camera::Source::pushed;
    settings.keep_for = std::chrono::hours{1};
    EXPECT_TRUE(CameraStore(*catalog).add(settings));
  }
  void take_stills(int count, std::chrono::seconds every) {
    Recorder recorder(*catalog, options(), clock);
    for (int i = 0; i < count; ++i) {
      recorder.record(anvil, frame(), Track::stills);
      recorder.flush();
      clock.pass(every);
    }
  }
  std::vector<Segment> stills_of() { return stills.between(anvil, base::WallTime{}, clock.wall()).value(); }
  const base::CameraName anvil = test::name("anvil");
  SegmentStore stills;
};

TEST_F(StillsTrackTest, StillsThatAreMinutesApartStandInOneFileOfTheirOwn) {
  take_stills(4, 120s);
  const auto of_job = stills_of();
  ASSERT_EQ(of_job.size(), 1u);
  EXPECT_EQ(of_job[0].frames, 4u);
  EXPECT_TRUE(of_job[0].path.ends_with(".stills.mkv")) << of_job[0].path;
  EXPECT_TRUE(segments(anvil).empty()) << "people's recording is another track";
  EXPECT_FALSE(Playback(*catalog, anvil).seek(clock.wall()).value().has_value());
  EXPECT_TRUE(Playback(*catalog, anvil, Track::stills).seek(clock.wall()).value().has_value());
}

TEST_F(StillsTrackTest, ALapseIsMadeOfTheTrackThatCoversMore) {
  const base::WallTime from = clock.wall();
  take_stills(10, 60s);
  const base::WallTime to = clock.wall();
  EXPECT_EQ(fuller_track(*catalog, anvil, from, to).value(), Track::stills);
  Recorder recorder(*catalog, options(), clock);
  const base::WallTime second = clock.wall();
  record(recorder, anvil, 60, 1s);
  recorder.flush();
  EXPECT_EQ(fuller_track(*catalog, anvil, second, clock.wall()).value(), Track::recording);
  EXPECT_EQ(fuller_track(*catalog, anvil, second + 2h, second + 3h).value(), Track::recording);
}

TEST_F(StillsTrackTest, TheyHaveAnAgeOfTheirOwn) {
  take_stills(3, 10s);
  {
    Recorder recorder(*catalog, options(), clock);
    record(recorder, anvil, 3, 1s);
  }
  JobSettings settings;
  settings.keep_stills = std::chrono::hours{5};
  ASSERT_TRUE(JobStore(*catalog).set_settings(anvil, settings));
  Retention retention(*catalog, clock, disk);
  ASSERT_TRUE(retention.run(0));
  clock.pass(2h);
  ASSERT_TRUE(retention.run(0));
  EXPECT_TRUE(segments(anvil).empty()) << "an hour, by the camera's settings";
  EXPECT_EQ(stills_of().size(), 1u);
  clock.pass(4h);
  ASSERT_TRUE(retention.run(0));
  EXPECT_TRUE(stills_of().empty());
}

TEST_F(StillsTrackTest, NoneGoesByAgeBeforeTheFilmOfItsJobIsMade) {
  JobSettings settings;
  settings.keep_stills = std::chrono::hours{1};
  JobStore jobs(*catalog);
  ASSERT_TRUE(jobs.set_settings(anvil, settings));
  take_stills(2, 10s);  // of an earlier job
  clock.pass(10s);
  Job job(anvil);
  job.start = clock.wall();
  const auto id = jobs.start(job).value().id;
  take_stills(3, 10s);
  Retention retention(*catalog, clock, disk);
  ASSERT_TRUE(retention.run(0));
  clock.pass(4h);
  ASSERT_TRUE(retention.run(0));
  ASSERT_EQ(stills_of().size(), 1u) << "the job is under way";
  EXPECT_EQ(stills_of()[0].frames, 3u);
  ASSERT_TRUE(jobs.end(id, {clock.wall()}));
  ASSERT_TRUE(retention.run(0));
  EXPECT_EQ(stills_of().size(), 1u) << "its film is wanted";
  ASSERT_TRUE(FilmStore(*catalog).note_made(id, 1, "", clock.wall()));
  ASSERT_TRUE(retention.run(0));
  EXPECT_TRUE(stills_of().empty());
}

TEST_F(StillsTrackTest, WhereNoFilmIsMadeTheyHaveTheirAge) {
  JobSettings settings;
  settings.keep_stills = std::chrono::hours{1};
  settings.film.reset();
  ASSERT_TRUE(JobStore(*catalog).set_settings(anvil, settings));
  Job job(anvil);
  job.start = clock.wall();
  ASSERT_TRUE(JobStore(*catalog).start(job));
  take_stills(3, 10s);
  Retention retention(*catalog, clock, disk);
  ASSERT_TRUE(retention.run(0));
  clock.pass(4h);
  ASSERT_TRUE(retention.run(0));
  EXPECT_TRUE(stills_of().empty());
}

}  // namespace
}  // namespace rookery::archive
