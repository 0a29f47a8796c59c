// A station that runs on a clock which the test moves, with one camera to which the test sends pictures.
#pragma once

#include <gtest/gtest.h>

#include <thread>

#include "archive/playback.h"
#include "station/station.h"
#include "tests/support/eventually.h"
#include "tests/support/hand_clock.h"
#include "tests/support/picture.h"
#include "tests/support/temp_folder.h"

namespace rookery::station {

using namespace std::chrono_literals;
using test::eventually;

class RunningStation : public testing::Test {
 protected:
  RunningStation() : work_(io_.get_executor()), thread_([this] { io_.run(); }) {}
  ~RunningStation() override {
    station_.reset();
    work_.reset();
    thread_.join();
  }

  // What a test changes of the options before the start.
  virtual void adjust(StationOptions& options) { (void)options; }
  // Also again, after station_.reset(): a restart.
  void start() {
    StationOptions options;
    options.ticks.look = 1ms;
    options.ticks.jobs = 2ms;
    options.ticks.settings = 10ms;
    options.home = folder_.path() / "home";
    options.recorder.keep_free_bytes = 0;
    adjust(options);
    auto opened = Station::open(io_, options, clock_);
    ASSERT_TRUE(opened.has_value()) << opened.error().text();
    station_ = std::move(*opened);
    station_->start();
  }
  camera::Settings settings(camera::Record record) const {
    camera::Settings settings(anvil_);
    settings.source = camera::Source::pushed;
    settings.record = record;
    settings.pre_roll = 2s;
    settings.post_roll = 3s;
    return settings;
  }
  void add(camera::Record record) { ASSERT_TRUE(station_->add(settings(record)).has_value()); }
  void start(camera::Record record) {
    start();
    add(record);
  }

  // All that is stored, oldest first.
  std::vector<std::pair<base::WallTime, std::vector<std::byte>>> recorded(
      archive::Track track = archive::Track::recording) {
    std::vector<std::pair<base::WallTime, std::vector<std::byte>>> found;
    archive::Playback playback(station_->catalog(), anvil_, track);
    auto frame = playback.seek(base::WallTime{});
    for (; frame && *frame; frame = playback.next()) found.emplace_back((*frame)->at, (*frame)->bytes);
    return found;
  }

  // As another process does: the station hears of it by itself. Its number.
  std::int64_t begin_job() {
    archive::Job job(anvil_);
    job.start = clock_.wall();
    auto started = station_->job_store().start(job);
    EXPECT_TRUE(started.has_value());
    EXPECT_TRUE(eventually([&] { return station_->jobs().view(anvil_).has_value(); }));
    return started->id;
  }
  // A picture 5 s later, once it was taken as a still of the job.
  void job_still(const std::vector<std::byte>& jpeg) {
    clock_.pass(5s);
    ASSERT_TRUE(station_->push(anvil_, jpeg).has_value());
    ASSERT_TRUE(eventually([&] {
      const auto view = station_->jobs().view(anvil_);
      return view && view->last_still == clock_.wall();
    }));
  }

  const base::CameraName anvil_ = base::CameraName::parse("anvil").value();
  boost::asio::io_context io_;
  boost::asio::executor_work_guard<boost::asio::io_context::executor_type> work_;
  std::thread thread_;
  test::TempFolder folder_;
  test::HandClock clock_;
  std::unique_ptr<Station> station_;
};

}  // namespace rookery::station
