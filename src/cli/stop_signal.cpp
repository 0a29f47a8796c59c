#include "cli/stop_signal.h"

#include <atomic>
#include <csignal>

namespace rookery::cli {
namespace {

// What a handler may touch: a flag without a lock.
std::atomic<bool> asked{false};
static_assert(std::atomic<bool>::is_always_lock_free);

}  // namespace

void stop_on_signals() {
  struct sigaction stop {};
  stop.sa_handler = [](int) { asked = true; };
  stop.sa_flags = SA_RESETHAND | SA_RESTART;
  for (const int signal : {SIGINT, SIGTERM, SIGHUP}) {
    struct sigaction before {};
    if (::sigaction(signal, nullptr, &before) == 0 && before.sa_handler != SIG_IGN)
      ::sigaction(signal, &stop, nullptr);
  }
}

bool asked_to_stop() { return asked; }

}  // namespace rookery::cli
