#include "net/asio_poll.h"

#include <chrono>
#include <memory>
#include <optional>

#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/steady_timer.hpp>

namespace asio = boost::asio;

// The library knows both only by their names. Each keeps itself alive until it is freed; a handler that is
// still on its way then finds it dead.
struct AvahiWatch : std::enable_shared_from_this<AvahiWatch> {
  AvahiWatch(const asio::any_io_executor& strand, int fd_, AvahiWatchCallback callback_, void* userdata_)
      : descriptor(strand, fd_), fd(fd_), callback(callback_), userdata(userdata_) {}

  void arm() {
    if ((wanted & AVAHI_WATCH_IN) != 0)
      wait(reading, asio::posix::stream_descriptor::wait_read, AVAHI_WATCH_IN);
    if ((wanted & AVAHI_WATCH_OUT) != 0)
      wait(writing, asio::posix::stream_descriptor::wait_write, AVAHI_WATCH_OUT);
  }

  void wait(bool& pending, asio::posix::stream_descriptor::wait_type what, AvahiWatchEvent event) {
    if (pending) return;
    pending = true;
    descriptor.async_wait(what,
                          [self = shared_from_this(), &pending, event](boost::system::error_code error) {
                            pending = false;
                            if (!self->alive || error) return;
                            if ((self->wanted & event) != 0) {
                              self->happened = event;
                              self->callback(self.get(), self->fd, event, self->userdata);
                              self->happened = static_cast<AvahiWatchEvent>(0);
                            }
                            if (self->alive) self->arm();
                          });
  }

  asio::posix::stream_descriptor descriptor;
  const int fd;
  const AvahiWatchCallback callback;
  void* const userdata;
  AvahiWatchEvent wanted{};
  AvahiWatchEvent happened{};
  bool reading = false;
  bool writing = false;
  std::shared_ptr<AvahiWatch> alive;  // itself; none once it was freed
};

struct AvahiTimeout : std::enable_shared_from_this<AvahiTimeout> {
  AvahiTimeout(const asio::any_io_executor& strand, AvahiTimeoutCallback callback_, void* userdata_)
      : timer(strand), callback(callback_), userdata(userdata_) {}

  // The library counts by the wall clock (gettimeofday); what is left until then is waited for on ours, so a
  // clock that is set while it waits makes no difference.
  void set(const timeval* at) {
    due.reset();
    if (at == nullptr) return;
    const auto until = std::chrono::seconds(at->tv_sec) + std::chrono::microseconds(at->tv_usec);
    const auto now = std::chrono::system_clock::now().time_since_epoch();
    due = Clock::now() + std::chrono::duration_cast<Clock::duration>(until - now);
    wait();
  }

  // It is set again thousands of times a second while many services are looked up, mostly to a later time: a
  // wait that ends no later than what is due is left as it is, and goes on from there.
  void wait() {
    if (!due || (waits && ends <= *due)) return;
    ends = *due;
    waits = true;
    timer.expires_at(ends);
    timer.async_wait([self = shared_from_this(), mine = ++round](boost::system::error_code error) {
      if (!self->alive || error || mine != self->round) return;
      self->waits = false;
      if (!self->due) return;
      if (Clock::now() < *self->due) return self->wait();
      self->due.reset();
      self->callback(self.get(), self->userdata);
    });
  }

  using Clock = std::chrono::steady_clock;
  asio::steady_timer timer;
  const AvahiTimeoutCallback callback;
  void* const userdata;
  std::optional<Clock::time_point> due;
  bool waits = false;
  Clock::time_point ends{};  // of the wait
  std::uint64_t round = 0;
  std::shared_ptr<AvahiTimeout> alive;
};

namespace rookery::net {
namespace {

const asio::any_io_executor& strand_of(const AvahiPoll* api) {
  return static_cast<const AsioPoll*>(api->userdata)->strand();
}

AvahiWatch* new_watch(const AvahiPoll* api, int fd, AvahiWatchEvent event, AvahiWatchCallback callback,
                      void* userdata) {
  auto watch = std::make_shared<AvahiWatch>(strand_of(api), fd, callback, userdata);
  watch->alive = watch;
  watch->wanted = event;
  watch->arm();
  return watch.get();
}

void update_watch(AvahiWatch* watch, AvahiWatchEvent event) {
  watch->wanted = event;
  watch->arm();
}

AvahiWatchEvent watch_events(AvahiWatch* watch) { return watch->happened; }

void free_watch(AvahiWatch* watch) {
  watch->descriptor.release();  // the library closes it
  watch->alive.reset();
}

AvahiTimeout* new_timeout(const AvahiPoll* api, const timeval* at, AvahiTimeoutCallback callback,
                          void* userdata) {
  auto timeout = std::make_shared<AvahiTimeout>(strand_of(api), callback, userdata);
  timeout->alive = timeout;
  timeout->set(at);
  return timeout.get();
}

void update_timeout(AvahiTimeout* timeout, const timeval* at) { timeout->set(at); }

void free_timeout(AvahiTimeout* timeout) {
  timeout->timer.cancel();
  timeout->alive.reset();
}

}  // namespace

AsioPoll::AsioPoll(asio::any_io_executor strand) : strand_(std::move(strand)) {
  api_.userdata = this;
  api_.watch_new = new_watch;
  api_.watch_update = update_watch;
  api_.watch_get_events = watch_events;
  api_.watch_free = free_watch;
  api_.timeout_new = new_timeout;
  api_.timeout_update = update_timeout;
  api_.timeout_free = free_timeout;
}

}  // namespace rookery::net
