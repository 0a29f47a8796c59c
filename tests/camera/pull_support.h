// Helpers of the pull's tests: a running context, a watcher of every frame, settings and limits that fit a
// test.
#pragma once

#include <condition_variable>
#include <functional>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include <boost/asio.hpp>

#include "base/time.h"
#include "camera/pull.h"
#include "sim/board.h"
#include "tests/support/eventually.h"
#include "tests/support/picture.h"

namespace rookery::camera::test {

// A context with two threads, as a station has.
class Running {
 public:
  Running() : work_(boost::asio::make_work_guard(context_)) {
    for (int n = 0; n < 2; ++n) threads_.emplace_back([this] { context_.run(); });
  }
  ~Running() {
    work_.reset();
    context_.stop();
    for (std::thread& thread : threads_) thread.join();
  }
  Running(const Running&) = delete;
  Running& operator=(const Running&) = delete;
  boost::asio::any_io_executor executor() { return context_.get_executor(); }

 private:
  boost::asio::io_context context_;
  boost::asio::executor_work_guard<boost::asio::io_context::executor_type> work_;
  std::vector<std::thread> threads_;
};

using rookery::test::eventually;

inline std::uint64_t hash_of(std::span<const std::byte> bytes) {
  const auto* first = reinterpret_cast<const std::uint8_t*>(bytes.data());
  return sim::fnv1a64(std::vector<std::uint8_t>(first, first + bytes.size()));
}

// Notes every frame of a feed.
class EveryFrame {
 public:
  explicit EveryFrame(const std::shared_ptr<Feed>& feed)
      : tap_(feed->tap([this](const FramePtr& frame) {
          const std::lock_guard lock(mutex_);
          frames_.push_back(frame);
        })) {}

  std::size_t count() const {
    const std::lock_guard lock(mutex_);
    return frames_.size();
  }
  std::vector<FramePtr> frames() const {
    const std::lock_guard lock(mutex_);
    return frames_;
  }
  std::vector<std::uint64_t> hashes() const {
    std::vector<std::uint64_t> out;
    for (const FramePtr& frame : frames()) out.push_back(hash_of(frame->view()));
    return out;
  }
  bool wait_for(std::size_t n) const {
    return eventually([&] { return count() >= n; });
  }

 private:
  mutable std::mutex mutex_;
  std::vector<FramePtr> frames_;
  std::unique_ptr<Feed::Tap> tap_;  // last: dies first
};

inline Settings bobbin() { return Settings(*base::CameraName::parse("bobbin")); }

inline Settings stream_of(const std::string& address) {
  Settings out = bobbin();
  out.stream_address = address;
  return out;
}

inline Settings stills_of(const std::string& address,
                          std::chrono::milliseconds every = std::chrono::milliseconds(100)) {
  Settings out = bobbin();
  out.source = Source::stills;
  out.still_address = address;
  out.poll_every = every;
  return out;
}

// Short enough for a test, long enough for a busy machine.
inline PullLimits quick() {
  PullLimits out;
  out.connect = std::chrono::milliseconds(1500);
  out.silence = std::chrono::milliseconds(1500);
  out.backoff_first = std::chrono::milliseconds(20);
  out.backoff_most = std::chrono::milliseconds(200);
  out.healthy_after = std::chrono::milliseconds(1000);
  return out;
}

inline void expect_books_balance(const Counters& counters) {
  EXPECT_EQ(counters.received, counters.published + counters.rejected_total());
}

// Pictures that all differ, as a board's source.
inline std::vector<sim::Bytes> different_pictures(int count, int width_px = 64, int height_px = 48) {
  std::vector<sim::Bytes> out;
  for (int n = 0; n < count; ++n) {
    const std::vector<std::byte> jpeg =
        rookery::test::make_picture(width_px, height_px, static_cast<unsigned>(n));
    const auto* first = reinterpret_cast<const std::uint8_t*>(jpeg.data());
    out.push_back(sim::make_bytes(std::vector<std::uint8_t>(first, first + jpeg.size())));
  }
  return out;
}

inline std::string text_of(const std::vector<std::byte>& bytes) {
  return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

}  // namespace rookery::camera::test
