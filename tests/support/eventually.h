// Waiting for what another thread or process does, with an end.
#pragma once

#include <chrono>
#include <condition_variable>
#include <functional>
#include <mutex>

namespace rookery::test {

// Looks again and again, until `true_now` or the deadline.
inline bool eventually(const std::function<bool()>& true_now,
                       std::chrono::milliseconds deadline = std::chrono::seconds(20)) {
  std::mutex mutex;
  std::condition_variable never;
  const auto end = std::chrono::steady_clock::now() + deadline;
  std::unique_lock lock(mutex);
  while (!true_now()) {
    if (std::chrono::steady_clock::now() > end) return false;
    never.wait_for(lock, std::chrono::milliseconds(2));
  }
  return true;
}

}  // namespace rookery::test
