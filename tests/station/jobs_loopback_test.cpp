// Jobs in a running station: stills are kept where nothing else records, what others write is taken up, and a
// restart goes on.
#include "archive/camera_store.h"
#include "tests/station/running_station.h"

namespace rookery::station {
namespace {

class JobsTest : public RunningStation {
 protected:
  void still(unsigned number) { job_still(test::make_picture(320, 240, number)); }
};

TEST_F(JobsTest, StillsAreKeptWhereNothingElseRecords) {
  start(camera::Record::never);
  const auto id = begin_job();
  for (unsigned i = 0; i < 5; ++i) still(i);
  ASSERT_TRUE(station_->job_store().end(id, {clock_.wall()}));
  ASSERT_TRUE(eventually([&] { return !station_->jobs().view(anvil_).has_value(); }));
  ASSERT_TRUE(eventually([&] { return recorded(archive::Track::stills).size() == 5; }));
  EXPECT_EQ(recorded(archive::Track::recording).size(), 0u);
}

TEST_F(JobsTest, WhereAllIsRecordedNothingIsKeptTwice) {
  start(camera::Record::always);
  const auto id = begin_job();
  for (unsigned i = 0; i < 3; ++i) still(i);
  ASSERT_TRUE(station_->job_store().end(id, {clock_.wall()}));
  ASSERT_TRUE(eventually([&] { return recorded(archive::Track::recording).size() == 3; }));
  EXPECT_EQ(recorded(archive::Track::stills).size(), 0u);
}

TEST_F(JobsTest, ARestartGoesOnWithTheJob) {
  start(camera::Record::never);
  begin_job();
  for (unsigned i = 0; i < 3; ++i) still(i);
  station_.reset();
  start();
  ASSERT_TRUE(eventually([&] { return station_->jobs().view(anvil_).has_value(); }));
  EXPECT_GT(station_->jobs().view(anvil_)->width, 0) << "what it had learned is there";
  still(7);
}

TEST_F(JobsTest, HoursBeginAJobOnceAndAPersonsEndStands) {
  start(camera::Record::never);
  archive::JobSettings settings;
  settings.hours = {{0x7f, 0, std::chrono::hours(24)}};
  ASSERT_TRUE(station_->job_store().set_settings(anvil_, settings));
  ASSERT_TRUE(eventually([&] { return station_->job_store().under_way(anvil_).value().has_value(); }));
  const auto job = station_->job_store().under_way(anvil_).value();
  EXPECT_EQ(job->began, archive::JobVoice::schedule);
  ASSERT_TRUE(station_->job_store().end(job->id, {clock_.wall()}));
  clock_.pass(10s);
  ASSERT_TRUE(station_->jobs().settle());
  ASSERT_TRUE(station_->jobs().settle());
  EXPECT_FALSE(station_->job_store().under_way(anvil_).value().has_value());
}

TEST_F(JobsTest, AJobOfAClockThatRanAheadKeepsNoHoursFromBeginning) {
  start(camera::Record::never);
  archive::Job ahead(anvil_);
  ahead.start = clock_.wall() + std::chrono::hours{24 * 40};
  const auto id = station_->job_store().start(ahead).value().id;
  ASSERT_TRUE(station_->job_store().end(id, {ahead.start}));
  archive::JobSettings settings;
  settings.hours = {{0x7f, 0, std::chrono::hours(24)}};
  ASSERT_TRUE(station_->job_store().set_settings(anvil_, settings));
  ASSERT_TRUE(station_->jobs().settle());
  const auto job = station_->job_store().under_way(anvil_).value();
  ASSERT_TRUE(job.has_value());
  EXPECT_EQ(job->start, clock_.wall());
}

TEST_F(JobsTest, APictureFromBeforeTheCameraWasAwayIsNoStillOfTheJob) {
  start(camera::Record::never);
  ASSERT_TRUE(station_->push(anvil_, test::make_picture(320, 240, 1)).has_value());
  clock_.pass(3h);
  const auto id = begin_job();
  still(2);
  ASSERT_TRUE(station_->job_store().end(id, {clock_.wall()}));
  ASSERT_TRUE(eventually([&] { return !station_->jobs().view(anvil_).has_value(); }));
  ASSERT_TRUE(station_->catalog().flush());
  EXPECT_LT(station_->job_store().find(id)->facts.lasted_s, 60) << "it is no job of three hours";
  ASSERT_TRUE(eventually([&] { return recorded(archive::Track::stills).size() == 1; }));
}

// As `rookery camera add` and `rookery job start` one after the other do.
TEST_F(JobsTest, AJobOfACameraThatTheStationHasNotTakenUpYetGoesOn) {
  start();
  for (const char* name : {"bay", "cog", "dock", "elm", "flue"}) {
    camera::Settings one(base::CameraName::parse(name).value());
    one.source = camera::Source::pushed;
    ASSERT_TRUE(archive::CameraStore(station_->catalog()).add(one));
    archive::Job job(one.name);
    job.start = clock_.wall();
    const auto id = station_->job_store().start(job).value().id;
    ASSERT_TRUE(station_->jobs().settle());
    EXPECT_TRUE(station_->job_store().find(id)->under_way()) << name;
  }
}

TEST_F(JobsTest, ACameraThatIsRemovedEndsItsJob) {
  start(camera::Record::never);
  const auto id = begin_job();
  ASSERT_TRUE(station_->remove(anvil_).has_value());
  ASSERT_TRUE(eventually([&] { return !station_->job_store().find(id)->under_way(); }));
  EXPECT_EQ(station_->job_store().steps(id)->back().note, "its camera was removed");
}

TEST_F(JobsTest, TwoPicturesAndAnEndMakeAFilmOrSayWhyNot) {
  start(camera::Record::never);
  const auto id = begin_job();
  still(1);
  still(2);
  ASSERT_TRUE(station_->job_store().end(id, {clock_.wall()}));
  const archive::FilmStore films(station_->catalog());
  ASSERT_TRUE(eventually([&] {
    const auto film = films.find(id);
    return film && *film && (*film)->state != archive::FilmState::wanted;
  }));
}

}  // namespace
}  // namespace rookery::station
