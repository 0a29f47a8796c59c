// Jobs in a running station: stills are kept where nothing else records, what others write is taken up, and a
// restart goes on.
#include <gtest/gtest.h>

#include <thread>

#include "archive/camera_store.h"
#include "archive/playback.h"
#include "station/station.h"
#include "tests/support/eventually.h"
#include "tests/support/hand_clock.h"
#include "tests/support/picture.h"
#include "tests/support/temp_folder.h"

namespace rookery::station {
namespace {

using namespace std::chrono_literals;
namespace asio = boost::asio;
using test::eventually;

class JobsTest : public testing::Test {
 protected:
  JobsTest() : work_(io_.get_executor()), thread_([this] { io_.run(); }) {}
  ~JobsTest() override {
    station_.reset();
    work_.reset();
    thread_.join();
  }
  void start() {
    StationOptions options;
    options.ticks.look = 5ms;
    options.ticks.jobs = 2ms;
    options.ticks.settings = 10ms;
    options.home = folder_.path() / "home";
    options.recorder.keep_free_bytes = 0;
    auto opened = Station::open(io_, options, clock_);
    ASSERT_TRUE(opened.has_value()) << opened.error().text();
    station_ = std::move(*opened);
    station_->start();
  }
  void add(camera::Record record) {
    camera::Settings settings(anvil_);
    settings.source = camera::Source::pushed;
    settings.record = record;
    ASSERT_TRUE(station_->add(settings).has_value());
  }
  // As another process does: the station hears of it by itself.
  std::int64_t begin() {
    archive::Job job(anvil_);
    job.start = clock_.wall();
    auto started = station_->job_store().start(job);
    EXPECT_TRUE(started.has_value());
    EXPECT_TRUE(eventually([&] { return station_->jobs().view(anvil_).has_value(); }));
    return started->id;
  }
  // A picture 5 s later, once it was taken as a still.
  void still(unsigned number) {
    clock_.pass(5s);
    ASSERT_TRUE(station_->push(anvil_, test::make_picture(320, 240, number)).has_value());
    ASSERT_TRUE(eventually([&] {
      const auto view = station_->jobs().view(anvil_);
      return view && view->last_still == clock_.wall();
    }));
  }
  std::size_t frames(archive::Track track) {
    std::size_t count = 0;
    archive::Playback playback(station_->catalog(), anvil_, track);
    auto frame = playback.seek(base::WallTime{});
    for (; frame && *frame; frame = playback.next()) ++count;
    return count;
  }

  const base::CameraName anvil_ = base::CameraName::parse("anvil").value();
  asio::io_context io_;
  asio::executor_work_guard<asio::io_context::executor_type> work_;
  std::thread thread_;
  test::TempFolder folder_;
  test::HandClock clock_;
  std::unique_ptr<Station> station_;
};

TEST_F(JobsTest, StillsAreKeptWhereNothingElseRecords) {
  start();
  add(camera::Record::never);
  const auto id = begin();
  for (unsigned i = 0; i < 5; ++i) still(i);
  ASSERT_TRUE(station_->job_store().end(id, {clock_.wall()}));
  ASSERT_TRUE(eventually([&] { return !station_->jobs().view(anvil_).has_value(); }));
  ASSERT_TRUE(eventually([&] { return frames(archive::Track::stills) == 5; }));
  EXPECT_EQ(frames(archive::Track::recording), 0u);
}

TEST_F(JobsTest, WhereAllIsRecordedNothingIsKeptTwice) {
  start();
  add(camera::Record::always);
  const auto id = begin();
  for (unsigned i = 0; i < 3; ++i) still(i);
  ASSERT_TRUE(station_->job_store().end(id, {clock_.wall()}));
  ASSERT_TRUE(eventually([&] { return frames(archive::Track::recording) == 3; }));
  EXPECT_EQ(frames(archive::Track::stills), 0u);
}

TEST_F(JobsTest, ARestartGoesOnWithTheJob) {
  start();
  add(camera::Record::never);
  begin();
  for (unsigned i = 0; i < 3; ++i) still(i);
  station_.reset();
  start();
  ASSERT_TRUE(eventually([&] { return station_->jobs().view(anvil_).has_value(); }));
  EXPECT_GT(station_->jobs().view(anvil_)->width, 0) << "what it had learned is there";
  still(7);
}

TEST_F(JobsTest, HoursBeginAJobOnceAndAPersonsEndStands) {
  start();
  add(camera::Record::never);
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
  start();
  add(camera::Record::never);
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
  start();
  add(camera::Record::never);
  ASSERT_TRUE(station_->push(anvil_, test::make_picture(320, 240, 1)).has_value());
  clock_.pass(3h);
  const auto id = begin();
  still(2);
  ASSERT_TRUE(station_->job_store().end(id, {clock_.wall()}));
  ASSERT_TRUE(eventually([&] { return !station_->jobs().view(anvil_).has_value(); }));
  ASSERT_TRUE(station_->catalog().flush());
  EXPECT_LT(station_->job_store().find(id)->facts.lasted_s, 60) << "it is no job of three hours";
  ASSERT_TRUE(eventually([&] { return frames(archive::Track::stills) == 1; }));
}

// As `rookery camera add` and `rookery job start` one after the other do.
TEST_F(JobsTest, AJobOfACameraThatTheStationHasNotTakenUpYetGoesOn) {
  start();
  for (const char* name : {"bay", "cog", "dock", "elm", "flue"}) {
    camera::Settings settings(base::CameraName::parse(name).value());
    settings.source = camera::Source::pushed;
    ASSERT_TRUE(archive::CameraStore(station_->catalog()).add(settings));
    archive::Job job(settings.name);
    job.start = clock_.wall();
    const auto id = station_->job_store().start(job).value().id;
    ASSERT_TRUE(station_->jobs().settle());
    EXPECT_TRUE(station_->job_store().find(id)->under_way()) << name;
  }
}

TEST_F(JobsTest, ACameraThatIsRemovedEndsItsJob) {
  start();
  add(camera::Record::never);
  const auto id = begin();
  ASSERT_TRUE(station_->remove(anvil_).has_value());
  ASSERT_TRUE(eventually([&] { return !station_->job_store().find(id)->under_way(); }));
  EXPECT_EQ(station_->job_store().steps(id)->back().note, "its camera was removed");
}

TEST_F(JobsTest, TwoPicturesAndAnEndMakeAFilmOrSayWhyNot) {
  start();
  add(camera::Record::never);
  const auto id = begin();
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
