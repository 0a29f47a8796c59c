// Work for a pool that must not end the program, and a mark that work is under way.
#pragma once

#include <atomic>
#include <exception>

#include <boost/asio/post.hpp>
#include <boost/asio/thread_pool.hpp>

#include "base/log.h"

namespace rookery::station {

// What `work` throws (memory, a dying disk) is logged and ends nothing else.
template <class Work>
void post_guarded(boost::asio::thread_pool& workers, const char* about, Work work) {
  boost::asio::post(workers, [about, work = std::move(work)]() mutable {
    try {
      work();
    } catch (const std::exception& failure) {
      base::log_error(about, "{}", failure.what());
    }
  });
}

// Sets the flag back, whatever happens in between.
class Busy {
 public:
  explicit Busy(std::atomic<bool>& flag) : flag_(flag) {}
  ~Busy() { flag_ = false; }
  Busy(const Busy&) = delete;
  Busy& operator=(const Busy&) = delete;

 private:
  std::atomic<bool>& flag_;
};

}  // namespace rookery::station
