// Watchdog: one timer for a whole connection, pushed forward by storing a time, not by setting the timer
// again.
#pragma once

#include <chrono>
#include <functional>
#include <memory>

#include <boost/asio/any_io_executor.hpp>

namespace rookery::net {

// strand-bound to `strand`. Calls `bite` there once, when nothing touched it for the limit; `bite` usually
// closes a socket, so that whoever waits on it wakes up and asks bitten().
class Watchdog {
 public:
  Watchdog(boost::asio::any_io_executor strand, std::function<void()> bite);
  ~Watchdog();  // never bites again
  Watchdog(const Watchdog&) = delete;
  Watchdog& operator=(const Watchdog&) = delete;

  // Counts from now, with a new limit; forgets an earlier bite.
  void arm(std::chrono::steady_clock::duration limit);
  // Something happened: the limit counts from now again. Costs a look at the clock.
  void touch();
  void disarm();

  // True if it bit since the last arm().
  bool bitten() const;
  // What is left of the limit; zero or more. Only when armed.
  std::chrono::steady_clock::duration left() const;

 private:
  struct State;
  std::shared_ptr<State> state_;
};

}  // namespace rookery::net
