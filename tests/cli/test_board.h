// A board for tests that drive the real program.
#pragma once

#include <gtest/gtest.h>

#include <memory>
#include <string>
#include <thread>
#include <vector>

#include "sim/board.h"
#include "tests/support/picture.h"

namespace rookery::test {

// What a board sends of make_picture(…).
inline sim::Bytes board_picture(int width_px, int height_px, unsigned number, int quality = 80) {
  const auto made = make_picture(width_px, height_px, number, quality);
  const auto* first = reinterpret_cast<const std::uint8_t*>(made.data());
  return std::make_shared<const std::vector<std::uint8_t>>(first, first + made.size());
}

// A make-believe board in a thread of its own.
class TestBoard {
 public:
  static constexpr std::uint64_t kFramesPerSecond = 50;
  // With eight small pictures.
  TestBoard() : TestBoard(small_pictures(), kFramesPerSecond) {}
  TestBoard(std::vector<sim::Bytes> pictures, std::uint64_t frames_per_s)
      : TestBoard(std::make_shared<sim::ListSource>(std::move(pictures)), frames_per_s) {}
  TestBoard(std::shared_ptr<sim::FrameSource> source, std::uint64_t frames_per_s) {
    sim::BoardOptions options;
    options.frames_per_second = static_cast<double>(frames_per_s);
    board_ = std::make_unique<sim::Board>(io_.get_executor(), options, std::move(source));
    EXPECT_TRUE(board_->start().has_value());
    thread_ = std::thread([this] { io_.run(); });
  }
  ~TestBoard() {
    board_->stop();
    io_.stop();
    thread_.join();
  }
  std::uint64_t frames_sent() const { return board_->counts().frames_sent; }
  sim::Faults& faults() { return board_->faults(); }
  std::string address() const { return board_->stream_address(); }
  std::string still_address() const { return board_->still_address(); }

 private:
  static std::vector<sim::Bytes> small_pictures() {
    std::vector<sim::Bytes> made;
    for (unsigned i = 0; i < 8; ++i) made.push_back(board_picture(320, 240, i));
    return made;
  }

  boost::asio::io_context io_;
  boost::asio::executor_work_guard<boost::asio::io_context::executor_type> work_{io_.get_executor()};
  std::unique_ptr<sim::Board> board_;
  std::thread thread_;
};

}  // namespace rookery::test
