#include "net/watchdog.h"

#include <algorithm>

#include <boost/asio.hpp>

namespace rookery::net {

namespace asio = boost::asio;
using Steady = std::chrono::steady_clock;

struct Watchdog::State : std::enable_shared_from_this<Watchdog::State> {
  State(asio::any_io_executor strand, std::function<void()> bite_) : timer(strand), bite(std::move(bite_)) {}

  void sleep_until(Steady::time_point when) {
    wakes = when;
    timer.expires_at(when);
    timer.async_wait([self = shared_from_this(), round = ++round](const boost::system::error_code& error) {
      // A wait that was replaced may have completed already; its code then says success.
      if (error || round != self->round || !self->armed) return;
      self->look();
    });
  }

  void look() {
    wakes = Steady::time_point::max();
    if (Steady::now() < last + limit) return sleep_until(last + limit);
    armed = false;
    bitten = true;
    if (bite) bite();
  }

  asio::steady_timer timer;
  std::function<void()> bite;
  Steady::duration limit{};
  Steady::time_point last;
  Steady::time_point wakes = Steady::time_point::max();
  std::uint64_t round = 0;
  bool armed = false;
  bool bitten = false;
};

Watchdog::Watchdog(asio::any_io_executor strand, std::function<void()> bite)
    : state_(std::make_shared<State>(std::move(strand), std::move(bite))) {}

Watchdog::~Watchdog() {
  disarm();
  state_->bite = nullptr;
  state_->timer.cancel();
}

void Watchdog::arm(Steady::duration limit) {
  state_->bitten = false;
  state_->armed = true;
  state_->limit = limit;
  state_->last = Steady::now();
  // A timer that wakes earlier looks again then; only a later one has to be set anew.
  if (state_->last + limit < state_->wakes) state_->sleep_until(state_->last + limit);
}

void Watchdog::touch() { state_->last = Steady::now(); }

// The timer is left to run: the next arm() will find it useful, and it does nothing when it fires unarmed.
void Watchdog::disarm() { state_->armed = false; }

bool Watchdog::bitten() const { return state_->bitten; }

Steady::duration Watchdog::left() const {
  return std::max(Steady::duration::zero(), state_->last + state_->limit - Steady::now());
}

}  // namespace rookery::net
