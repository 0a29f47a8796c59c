// The station as a whole against make-believe boards: what it takes up, records, shares and lets go.
#include "station/station.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/use_future.hpp>
#include <future>
#include <thread>

#include "archive/playback.h"
#include "sim/board.h"
#include "tests/support/eventually.h"
#include "tests/support/hand_clock.h"
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
    sim::BoardOptions options;
    options.frames_per_second = 50;
    board_ = std::make_unique<sim::Board>(io_.get_executor(), options, sources());
    EXPECT_TRUE(board_->start().has_value());
  }
  ~StationTest() override {
    station_.reset();
    board_.reset();
    work_.reset();
    for (std::thread& thread : threads_) thread.join();
  }

  static std::vector<sim::Bytes> pictures(int width_px, int height_px, unsigned count) {
    std::vector<sim::Bytes> made;
    for (unsigned i = 0; i < count; ++i) {
      const auto jpeg = test::make_picture(width_px, height_px, i);
      const auto* first = reinterpret_cast<const std::uint8_t*>(jpeg.data());
      made.push_back(sim::make_bytes({first, first + jpeg.size()}));
    }
    return made;
  }
  static std::shared_ptr<sim::FrameSource> sources() {
    return std::make_shared<sim::ListSource>(pictures(640, 480, 5));
  }
  // A board that ends its stream after so many pictures; the station does not ask it again.
  std::unique_ptr<sim::Board> board_that_ends(std::uint64_t frames, std::vector<sim::Bytes> list) {
    limits_.backoff_first = limits_.backoff_most = std::chrono::hours(1);
    segment_length_ = std::chrono::hours(24);  // whatever the clock shows, only the board cuts
    sim::BoardOptions options;
    options.frames_per_second = 50;
    options.frames_until_close = frames;
    auto made = std::make_unique<sim::Board>(io_.get_executor(), options,
                                             std::make_shared<sim::ListSource>(std::move(list)));
    EXPECT_TRUE(made->start().has_value());
    return made;
  }
  CameraView wait_for_the_end(const base::CameraName& name) const {
    test::eventually([&] { return station_->camera(name)->status.state == camera::State::waiting; });
    return station_->camera(name).value();
  }
  base::Result<std::unique_ptr<Station>> open() {
    StationOptions options;
    options.ticks = ticks_;
    options.home = folder_.path() / "home";
    options.seed = 1;
    options.recorder.keep_free_bytes = 0;
    options.pull = limits_;
    options.recorder.segment_length = segment_length_;
    return Station::open(io_, options, *clock_);
  }
  void start() {
    auto opened = open();
    ASSERT_TRUE(opened.has_value()) << opened.error().text();
    station_ = std::move(*opened);
    station_->start();
  }
  bool comes_live(const base::CameraName& name) const {
    const auto until = std::chrono::steady_clock::now() + kDeadline;
    while (station_->camera(name)->status.state != camera::State::live) {
      if (std::chrono::steady_clock::now() > until) return false;
      std::this_thread::yield();
    }
    return true;
  }
  // Waits for `count` frames more of the camera.
  bool frames_come(const base::CameraName& name, std::uint64_t count) const {
    const auto published = [&] { return station_->camera(name)->status.counters.published; };
    const std::uint64_t enough = published() + count;
    const auto until = std::chrono::steady_clock::now() + kDeadline;
    while (published() < enough) {
      if (std::chrono::steady_clock::now() > until) return false;
      std::this_thread::yield();
    }
    return true;
  }
  camera::Settings anvil() const { return on_the_board("anvil"); }
  camera::Settings on_the_board(const char* name) const {
    camera::Settings settings(name_of(name));
    settings.stream_address = board_->stream_address();
    settings.still_address = board_->still_address();
    return settings;
  }

  asio::io_context io_;
  asio::executor_work_guard<asio::io_context::executor_type> work_;
  std::vector<std::thread> threads_;
  test::TempFolder folder_;
  base::SystemClock real_;
  test::HandClock hand_;
  const base::Clock* clock_ = &real_;
  StationTicks ticks_;
  camera::PullLimits limits_;
  std::chrono::seconds segment_length_ = archive::RecorderOptions().segment_length;
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

TEST_F(StationTest, ABoardThatGoesFromCameraToCameraNeverHasTwoStreams) {
  start();
  for (int round = 0; round < 50; ++round) {
    const char* name = round % 2 == 0 ? "anvil" : "bobbin";
    ASSERT_TRUE(station_->add(on_the_board(name)).has_value());
    ASSERT_TRUE(next_frame(io_, station_->feed(name_of(name)).value()));
    ASSERT_TRUE(station_->remove(name_of(name)).has_value());
  }
  EXPECT_EQ(board_->counts().most_streams, 1U);
}

// The thread that reads a camera's connection may be busy at the moment when the camera goes.
TEST_F(StationTest, ABoardIsNotAskedWhileTheCameraBeforeStillHoldsIt) {
  ticks_.let_go = std::chrono::milliseconds{20};
  ticks_.settings = std::chrono::milliseconds{20};
  start();
  auto settings = anvil();
  settings.record = camera::Record::never;
  ASSERT_TRUE(station_->add(settings).has_value());
  const auto feed = station_->feed(settings.name).value();
  std::promise<void> entered;
  std::promise<void> let_on;
  const auto may_go_on = let_on.get_future().share();
  bool first = true;
  const auto tap = feed->tap([&](const camera::FramePtr&) {
    if (!std::exchange(first, false)) return;
    entered.set_value();
    may_go_on.wait();
  });
  ASSERT_EQ(entered.get_future().wait_for(kDeadline), std::future_status::ready);

  ASSERT_TRUE(station_->remove(settings.name).has_value());
  auto next = on_the_board("bobbin");
  next.record = camera::Record::never;
  ASSERT_TRUE(station_->add(next).has_value());
  EXPECT_EQ(station_->camera(next.name)->status.state, camera::State::off);
  let_on.set_value();
  EXPECT_TRUE(next_frame(io_, station_->feed(next.name).value()));
  EXPECT_EQ(board_->counts().most_streams, 1U);
}

TEST_F(StationTest, CamerasMayExchangeTheirBoards) {
  sim::BoardOptions options;
  options.frames_per_second = 50;
  sim::Board other(io_.get_executor(), options, sources());
  ASSERT_TRUE(other.start().has_value());
  start();
  auto first = on_the_board("anvil");
  auto second = on_the_board("bobbin");
  second.stream_address = other.stream_address();
  ASSERT_TRUE(station_->add(first).has_value());
  ASSERT_TRUE(station_->add(second).has_value());
  for (int round = 0; round < 5; ++round) {
    std::swap(first.stream_address, second.stream_address);
    // By the command line, in one go: the station sees both changes at once.
    const auto parked = second.stream_address;
    second.stream_address = "http://127.0.0.1:1/parked";
    archive::CameraStore store(station_->catalog());
    ASSERT_TRUE(store.set(second).has_value());
    ASSERT_TRUE(store.set(first).has_value());
    second.stream_address = parked;
    ASSERT_TRUE(station_->set(second).has_value());
    ASSERT_TRUE(comes_live(first.name)) << round;
    ASSERT_TRUE(comes_live(second.name)) << round;
  }
  EXPECT_EQ(board_->counts().most_streams, 1U);
  EXPECT_EQ(other.counts().most_streams, 1U);
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

// Every number of a picture's way, from the board's own count to the archive's, some of them broken on the
// way.
TEST_F(StationTest, ItsCountersAgreeWithTheBoardsAndTheArchives) {
  auto list = pictures(640, 480, 10);
  sim::ActiveFaults cut;
  cut.set(sim::Fault::truncated, 0.6);
  list[3] = sim::damage_bytes(list[3], cut);
  sim::ActiveFaults headless;
  headless.set(sim::Fault::no_soi, 1);
  list[6] = sim::damage_bytes(list[6], headless);
  const auto board = board_that_ends(100, list);
  start();
  auto settings = anvil();
  settings.stream_address = board->stream_address();
  ASSERT_TRUE(station_->add(settings).has_value());
  const camera::Counters counters = wait_for_the_end(settings.name).status.counters;
  EXPECT_EQ(board->counts().frames_sent, 100U);
  EXPECT_EQ(counters.received, board->counts().frames_sent);
  EXPECT_EQ(counters.rejected.at(static_cast<std::size_t>(jpeg::BrokenKind::no_end)), 10U);
  EXPECT_EQ(counters.rejected.at(static_cast<std::size_t>(jpeg::BrokenKind::no_start)), 10U);
  EXPECT_EQ(counters.received, counters.published + counters.rejected_total());
  EXPECT_EQ(counters.published, 80U);

  const auto recorded = [&] { return station_->camera(settings.name)->recorder; };
  EXPECT_TRUE(test::eventually([&] { return recorded().written + recorded().lost == counters.published; }));
  EXPECT_EQ(recorded().taken, counters.published);
  EXPECT_EQ(recorded().lost, 0U);
  station_->stop();
  const auto segments = station_->segments().between(settings.name, {}, real_.wall() + std::chrono::hours(1));
  std::uint64_t frames = 0;
  for (const archive::Segment& segment : segments.value()) frames += segment.frames;
  EXPECT_EQ(frames, counters.published);
}

// A person sets another picture size on the board while it streams: no picture is lost, the size told is that
// of the newest, and each size has a segment of its own.
TEST_F(StationTest, ABoardMayChangeThePicturesSizeInMidStream) {
  auto list = pictures(640, 480, 10);
  for (const auto& [width_px, height_px] : {std::pair{320, 240}, {800, 600}})
    std::ranges::copy(pictures(width_px, height_px, 10), std::back_inserter(list));
  const auto board = board_that_ends(30, list);
  start();
  auto settings = anvil();
  settings.stream_address = board->stream_address();
  std::mutex mutex;
  std::vector<camera::PixelSize> sizes;  // of frame and status alike, as they change
  bool agree = true;
  ASSERT_TRUE(station_->add(settings).has_value());
  const auto feed = station_->feed(settings.name).value();
  const auto tap = feed->tap([&](const camera::FramePtr& frame) {
    const std::lock_guard lock(mutex);
    agree = agree && station_->camera(settings.name)->status.size == frame->size;
    if (sizes.empty() || sizes.back() != frame->size) sizes.push_back(frame->size);
  });
  const camera::Status status = wait_for_the_end(settings.name).status;
  EXPECT_EQ(status.counters.published, 30U);
  EXPECT_EQ(status.counters.connects, 1U);
  EXPECT_EQ(status.size, (camera::PixelSize{800, 600}));
  {
    const std::lock_guard lock(mutex);
    EXPECT_TRUE(agree);
    EXPECT_EQ(sizes, (std::vector<camera::PixelSize>{{640, 480}, {320, 240}, {800, 600}}));
  }

  station_->stop();
  const auto segments = station_->segments().between(settings.name, {}, real_.wall() + std::chrono::hours(1));
  ASSERT_EQ(segments.value().size(), 3U);
  for (const archive::Segment& segment : *segments) EXPECT_EQ(segment.frames, 10U) << segment.path;
  archive::Playback playback(station_->catalog(), settings.name);
  std::size_t number = 0;
  for (auto frame = playback.seek({}); *frame; frame = playback.next(), ++number) {
    const auto* first = reinterpret_cast<const std::uint8_t*>((**frame).bytes.data());
    EXPECT_EQ(std::vector<std::uint8_t>(first, first + (**frame).bytes.size()), *list.at(number)) << number;
  }
  EXPECT_EQ(number, 30U);
}

TEST_F(StationTest, StripsTellWhatMovesWhileItRuns) {
  clock_ = &hand_;
  ticks_.look = std::chrono::milliseconds{10};
  start();
  const base::WallTime began = hand_.wall();
  ASSERT_TRUE(station_->add(anvil()).has_value());
  const auto shows_motion = [&] {
    station_->catalog().flush();
    const auto strip = station_->strips().between(name_of("anvil"), began, hand_.wall());
    return std::ranges::any_of(strip->steps, [](const archive::StripStep& step) {
      return step.health == archive::Health::live && step.energy > 0;
    });
  };
  // Five looks in a second of the station's clock, as the detector is used to: six steps at most.
  for (int look = 0; look < 300 && !shows_motion(); ++look) {
    ASSERT_TRUE(frames_come(name_of("anvil"), 2));
    hand_.pass(std::chrono::milliseconds{200});
  }
  EXPECT_TRUE(shows_motion());
}

TEST_F(StationTest, ACameraKeepsToItsBytesWhileItRuns) {
  clock_ = &hand_;
  ticks_.space = std::chrono::milliseconds{10};
  start();
  auto settings = anvil();
  settings.keep_bytes = 1;
  ASSERT_TRUE(station_->add(settings).has_value());
  ASSERT_TRUE(frames_come(settings.name, 20));
  const auto until = std::chrono::steady_clock::now() + kDeadline;
  const auto first = [&]() -> std::optional<archive::Segment> {
    for (;;) {
      auto found = station_->segments().first_from(settings.name, base::WallTime{});
      if (*found || std::chrono::steady_clock::now() > until) return *found;
    }
  };
  const auto old = first();
  ASSERT_TRUE(old);
  // On to the next segment, in steps that no pull takes for a board that sends nothing.
  for (int step = 0; step < 33; ++step) {
    hand_.pass(std::chrono::seconds{20});
    ASSERT_TRUE(frames_come(settings.name, 1));
  }
  const auto removed = [&] {
    const auto now = first();
    return now && now->start > old->start;
  };
  while (!removed() && std::chrono::steady_clock::now() < until) ASSERT_TRUE(frames_come(settings.name, 5));
  EXPECT_TRUE(removed());
}

// Colours that are not laid out as usual cannot be scaled here; a browser shows them.
TEST_F(StationTest, APictureThatCannotBeScaledIsShownAsItIs) {
  start();
  auto jpeg = test::make_picture(640, 480, 1);
  const auto head = std::ranges::search(jpeg, std::array{std::byte{0xff}, std::byte{0xc0}});
  ASSERT_NE(head.begin(), jpeg.end());
  // SOF0 (ITU-T T.81, B.2.2): the sampling factors of the second component, 1×1, become 2×2.
  *(head.begin() + 14) = std::byte{0x22};
  const auto frame = std::make_shared<const camera::Frame>(jpeg, base::WallTime{}, base::MonoTime{}, 1,
                                                           camera::PixelSize{640, 480});
  auto small = asio::co_spawn(io_, station_->sizes().at_width(frame, 320), asio::use_future);
  ASSERT_EQ(small.wait_for(kDeadline), std::future_status::ready);
  EXPECT_EQ(small.get(), frame);
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
