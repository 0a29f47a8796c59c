// Vitals in a running station: what a camera sent in a minute can be asked for afterwards.
#include <SQLiteCpp/SQLiteCpp.h>
#include <gtest/gtest.h>

#include <thread>

#include "station/station.h"
#include "tests/support/eventually.h"
#include "tests/support/hand_clock.h"
#include "tests/support/picture.h"
#include "tests/support/temp_folder.h"

namespace rookery::station {
namespace {

using namespace std::chrono_literals;
namespace asio = boost::asio;

class VitalsTest : public testing::Test {
 protected:
  VitalsTest() : work_(io_.get_executor()), thread_([this] { io_.run(); }) {
    StationOptions options;
    options.ticks.look = 1ms;
    options.ticks.vitals = 1ms;
    options.home = folder_.path() / "home";
    options.recorder.keep_free_bytes = 0;
    station_ = std::move(*Station::open(io_, options, clock_));
    station_->start();
    camera::Settings settings(anvil_);
    settings.source = camera::Source::pushed;
    EXPECT_TRUE(station_->add(settings));
  }
  ~VitalsTest() override {
    station_.reset();
    work_.reset();
    thread_.join();
  }
  // Every ten seconds a still, until a minute that began at `from` or later can be asked for.
  std::optional<camera::Vitals> measured(base::WallTime from) {
    const auto jpeg = test::make_picture(320, 240, 0);
    std::optional<camera::Vitals> found;
    EXPECT_TRUE(test::eventually([&] {
      EXPECT_TRUE(station_->push(anvil_, jpeg));
      clock_.pass(10s);
      station_->catalog().flush();
      const auto series = station_->vitals().between(anvil_, from, clock_.wall() + 1min);
      EXPECT_TRUE(series) << series.error().text();
      for (const auto& step : series->steps) {
        if (step) found = step;
      }
      return found.has_value();
    }));
    return found;
  }

  test::TempFolder folder_;
  test::HandClock clock_;
  asio::io_context io_;
  asio::executor_work_guard<asio::io_context::executor_type> work_;
  std::thread thread_;
  std::unique_ptr<Station> station_;
  const base::CameraName anvil_ = base::CameraName::parse("anvil").value();
};

TEST_F(VitalsTest, AMinuteIsMeasuredStoredAndPackedOnTheNextDay) {
  const base::WallTime began = clock_.wall();
  const auto vitals = measured(began);
  ASSERT_TRUE(vitals);
  EXPECT_GT(vitals->frames_per_s, 0.05);
  EXPECT_GE(vitals->longest_gap_s, 9.5);
  clock_.pass(24h);
  ASSERT_TRUE(measured(clock_.wall()));
  const auto days = [&] {
    std::int64_t packed = 0;
    EXPECT_TRUE(station_->catalog().read([&](SQLite::Database& db) -> base::Result<void> {
      packed = db.execAndGet("SELECT count(*) FROM vitals_day").getInt64();
      return base::ok();
    }));
    return packed;
  };
  ASSERT_TRUE(test::eventually([&] { return days() == 1; }));
  const auto series = station_->vitals().between(anvil_, began, began + 10min).value();
  EXPECT_NE(std::ranges::find(series.steps, vitals), series.steps.end());
}

}  // namespace
}  // namespace rookery::station
