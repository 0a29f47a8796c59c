// The station as a whole against make-believe boards: what it takes up, records, shares and lets go.
#include "station/station.h"

#include <gtest/gtest.h>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/use_future.hpp>
#include <thread>

#include "sim/board.h"
#include "tests/support/picture.h"
#include "tests/support/temp_folder.h"

namespace rookery::station {
namespace {

namespace asio = boost::asio;
constexpr std::chrono::seconds kDeadline{20};

base::CameraName name_of(const char* text) { return base::CameraName::parse(text).value(); }

// The next frame of a feed that is newer than those the viewer had; null when the deadline passes first.
camera::FramePtr next_frame(asio::io_context& io, std::shared_ptr<camera::Feed> feed) {
  auto viewer = std::make_shared<camera::FeedViewer>(std::move(feed), io.get_executor());
  auto frame = asio::co_spawn(io, viewer->next(), asio::use_future);
  if (frame.wait_for(kDeadline) != std::future_status::ready) {
    ADD_FAILURE() << "no frame within the deadline";
    return nullptr;
  }
  return frame.get();
}

class StationTest : public testing::Test {
 protected:
  StationTest() : work_(io_.get_executor()) {
    for (int i = 0; i < 2; ++i) threads_.emplace_back([this] { io_.run(); });
    std::vector<sim::Bytes> pictures;
    for (unsigned i = 0; i < 5; ++i) {
      const auto made = test::make_picture(640, 480, i);
      const auto* first = reinterpret_cast<const std::uint8_t*>(made.data());
      pictures.push_back(std::make_shared<const std::vector<std::uint8_t>>(first, first + made.size()));
    }
    sim::BoardOptions options;
    options.frames_per_second = 50;
    board_ = std::make_unique<sim::Board>(io_.get_executor(), options,
                                          std::make_shared<sim::ListSource>(pictures));
    EXPECT_TRUE(board_->start().has_value());
  }
  ~StationTest() override {
    station_.reset();
    board_.reset();
    work_.reset();
    for (std::thread& thread : threads_) thread.join();
  }

  base::Result<std::unique_ptr<Station>> open() {
    StationOptions options;
    options.home = folder_.path() / "home";
    options.seed = 1;
    options.recorder.keep_free_bytes = 0;
    return Station::open(io_, options, clock_);
  }
  void start() {
    auto opened = open();
    ASSERT_TRUE(opened.has_value()) << opened.error().text();
    station_ = std::move(*opened);
    station_->start();
  }
  camera::Settings anvil() const {
    camera::Settings settings(name_of("anvil"));
    settings.stream_address = board_->stream_address();
    settings.still_address = board_->still_address();
    return settings;
  }

  asio::io_context io_;
  asio::executor_work_guard<asio::io_context::executor_type> work_;
  std::vector<std::thread> threads_;
  test::TempFolder folder_;
  base::SystemClock clock_;
  std::unique_ptr<sim::Board> board_;
  std::unique_ptr<Station> station_;
};

TEST_F(StationTest, ACameraIsPulledRecordedAndCounted) {
  start();
  ASSERT_TRUE(station_->add(anvil()).has_value());
  const auto feed = station_->feed(name_of("anvil")).value();
  const auto frame = next_frame(io_, feed);
  ASSERT_TRUE(frame);
  EXPECT_EQ(frame->size, (camera::PixelSize{640, 480}));

  station_->stop();
  const auto segments = station_->segments().between(
      name_of("anvil"), frame->arrived - std::chrono::minutes(1), frame->arrived + std::chrono::minutes(1));
  ASSERT_TRUE(segments.has_value());
  ASSERT_EQ(segments->size(), 1U);
  EXPECT_GE(segments->front().frames, 1U);
  EXPECT_FALSE(segments->front().open);
  EXPECT_EQ(board_->counts().most_streams, 1U);
}

TEST_F(StationTest, WhatAnotherProcessAddsIsTakenUp) {
  start();
  {
    auto other = archive::Catalog::open(folder_.path() / "home");
    ASSERT_TRUE(other.has_value()) << other.error().text();
    ASSERT_TRUE(archive::CameraStore(**other).add(anvil()).has_value());
  }
  // The watch looks once a second; a board that is asked for its stream proves that it was taken up.
  const auto until = std::chrono::steady_clock::now() + kDeadline;
  while (station_->cameras().empty() && std::chrono::steady_clock::now() < until) std::this_thread::yield();
  ASSERT_EQ(station_->cameras().size(), 1U);
  EXPECT_TRUE(next_frame(io_, station_->feed(name_of("anvil")).value()));
}

TEST_F(StationTest, ARemovedCameraEndsItsViewersAndKeepsItsRecording) {
  start();
  ASSERT_TRUE(station_->add(anvil()).has_value());
  const auto feed = station_->feed(name_of("anvil")).value();
  ASSERT_TRUE(next_frame(io_, feed));
  ASSERT_TRUE(station_->remove(name_of("anvil")).has_value());
  EXPECT_TRUE(feed->closed());
  EXPECT_EQ(station_->feed(name_of("anvil")).error().code, base::ErrorCode::not_found);
  station_->stop();
  EXPECT_EQ(station_->segments().count().value(), 1U);
}

TEST_F(StationTest, SwitchedOffMeansLeftAlone) {
  start();
  auto settings = anvil();
  settings.enabled = false;
  ASSERT_TRUE(station_->add(settings).has_value());
  EXPECT_EQ(station_->camera(settings.name)->status.state, camera::State::off);
  settings.enabled = true;
  ASSERT_TRUE(station_->set(settings).has_value());
  EXPECT_TRUE(next_frame(io_, station_->feed(settings.name).value()));
}

TEST_F(StationTest, OneStationAHome) {
  start();
  const auto second = open();
  ASSERT_FALSE(second.has_value());
  EXPECT_EQ(second.error().code, base::ErrorCode::busy);
  station_.reset();
  EXPECT_TRUE(open().has_value());
}

TEST_F(StationTest, OneScalingServesAllWhoWantTheSize) {
  start();
  ASSERT_TRUE(station_->add(anvil()).has_value());
  const auto frame = next_frame(io_, station_->feed(name_of("anvil")).value());
  ASSERT_TRUE(frame);
  auto first = asio::co_spawn(io_, station_->sizes().at_width(frame, 300), asio::use_future);
  auto second = asio::co_spawn(io_, station_->sizes().at_width(frame, 320), asio::use_future);
  auto whole = asio::co_spawn(io_, station_->sizes().at_width(frame, 0), asio::use_future);
  const camera::FramePtr small = first.get();
  ASSERT_TRUE(small);
  EXPECT_EQ(small->size.width_px, 320);
  EXPECT_EQ(small->number, frame->number);
  EXPECT_EQ(second.get(), small);
  EXPECT_EQ(whole.get(), frame);
}

}  // namespace
}  // namespace rookery::station
