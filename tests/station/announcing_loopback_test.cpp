// A board that announces itself while it gives no pictures: its dropout says so.
#include <gtest/gtest.h>

#include <algorithm>
#include <thread>

#include "sim/board.h"
#include "station/finding.h"
#include "station/station.h"
#include "tests/support/eventually.h"
#include "tests/support/picture.h"
#include "tests/support/temp_folder.h"

namespace rookery::station {
namespace {

using namespace std::chrono_literals;
namespace asio = boost::asio;

class Announcing : public testing::Test {
 protected:
  Announcing() {
    for (int n = 0; n < 2; ++n) threads_.emplace_back([this] { io_.run(); });
    sim::BoardOptions board;
    board.frames_per_second = 50;
    board_ = std::make_unique<sim::Board>(io_.get_executor(), board,
                                          std::make_shared<sim::ListSource>(pictures()));
    EXPECT_TRUE(board_->start().has_value());
    StationOptions options;
    options.home = folder_.path() / "home";
    options.seed = 1;
    options.recorder.keep_free_bytes = 0;
    options.finding.look = 50ms;
    options.pull.backoff_first = options.pull.backoff_most = 50ms;
    options.pull.gaps.look = 20ms;
    options.pull.gaps.settle = 300ms;
    auto opened = Station::open(io_, options, clock_);
    EXPECT_TRUE(opened.has_value());
    station_ = std::move(*opened);
    station_->start();
    camera::Settings settings(anvil_);
    settings.stream_address = board_->stream_address();
    settings.still_address = board_->still_address();
    EXPECT_TRUE(station_->add(settings).has_value());
    EXPECT_TRUE(test::eventually([&] { return station_->camera(anvil_)->status.counters.published > 40; }));
  }
  ~Announcing() override {
    station_.reset();
    board_.reset();
    work_.reset();
    for (std::thread& thread : threads_) thread.join();
  }
  static std::vector<sim::Bytes> pictures() {
    std::vector<sim::Bytes> made;
    for (unsigned n = 0; n < 5; ++n) {
      const auto jpeg = test::make_picture(320, 240, n);
      const auto* first = reinterpret_cast<const std::uint8_t*>(jpeg.data());
      made.push_back(sim::make_bytes({first, first + jpeg.size()}));
    }
    return made;
  }
  // The evidence of its first dropout, while the board is without power for a moment.
  std::vector<std::string> evidence(const std::vector<std::string>& names, const char* from) {
    board_->cycle_power(1000ms);
    EXPECT_TRUE(
        test::eventually([&] { return station_->camera(anvil_)->status.state != camera::State::live; }));
    // Which board is whose is learned again and again, not at once.
    std::vector<archive::Dropout> told;
    EXPECT_TRUE(test::eventually([&] {
      station_->finding().hear_claim(names, asio::ip::make_address(from));
      EXPECT_TRUE(station_->catalog().flush());
      told = station_->dropouts().list(anvil_, 5).value();
      return !told.empty();
    }));
    return told.empty() ? std::vector<std::string>() : told.front().ranking.evidence;
  }

  const base::CameraName anvil_ = base::CameraName::parse("anvil").value();
  asio::io_context io_;
  asio::executor_work_guard<asio::io_context::executor_type> work_{io_.get_executor()};
  std::vector<std::thread> threads_;
  test::TempFolder folder_;
  base::SystemClock clock_;
  std::unique_ptr<sim::Board> board_;
  std::unique_ptr<Station> station_;
};

constexpr std::string_view kSaid = "It announced its name to the network again";

TEST_F(Announcing, AClaimFromItsAddressIsSeenInItsDropout) {
  const auto lines = evidence({"whatever.local"}, "127.0.0.1");
  EXPECT_NE(std::ranges::find(lines, kSaid), lines.end());
}

TEST_F(Announcing, AnotherBoardsClaimIsNot) {
  const auto lines = evidence({"bobbin.local"}, "192.0.2.17");
  EXPECT_FALSE(lines.empty());
  EXPECT_EQ(std::ranges::find(lines, kSaid), lines.end());
}

}  // namespace
}  // namespace rookery::station
