// A clock that stands still until the test moves it.
#pragma once

#include <mutex>

#include "base/time.h"

namespace rookery::test {

// any-thread. Starts at 2026-03-01T12:00:00Z.
class HandClock final : public base::Clock {
 public:
  HandClock() = default;
  explicit HandClock(base::WallTime wall) : wall_(wall) {}

  base::WallTime wall() const override {
    const std::lock_guard lock{mutex_};
    return wall_;
  }
  base::MonoTime mono() const override {
    const std::lock_guard lock{mutex_};
    return mono_;
  }
  // Time passes: both clocks move.
  void pass(base::Microseconds by) {
    const std::lock_guard lock{mutex_};
    wall_ += by;
    mono_ += by;
  }
  // Somebody sets the wall clock; the monotonic one does not notice.
  void set_wall(base::WallTime wall) {
    const std::lock_guard lock{mutex_};
    wall_ = wall;
  }

 private:
  mutable std::mutex mutex_;
  base::WallTime wall_ = std::chrono::sys_days{std::chrono::year{2026} / 3 / 1} + std::chrono::hours{12};
  base::MonoTime mono_{std::chrono::hours{100}};
};

}  // namespace rookery::test
