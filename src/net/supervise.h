// supervise: starts a coroutine that shall go on, and answers for it. What it throws is logged and it is
// started again after a pause; it ends when it returns by itself or when its handle says so.
#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <string>

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>

namespace rookery::net {

// The pause before a task that threw is started again: doubled each time, from first to most; back to first
// when the task ran for longer than `most` before it threw.
struct RestartPause {
  std::chrono::milliseconds first{100};
  std::chrono::milliseconds most{30000};
};

// The handle of a supervised task. any-thread. Its destructor stops the task without waiting for it, so it
// may run on any thread, the task's own included; what the task uses must therefore be owned by the task
// (shared_ptr).
// The execution context must outlive the handle: what remains of a strand in it refers to the context.
class Supervised {
 public:
  Supervised() = default;  // of nothing; ended
  ~Supervised();
  Supervised(Supervised&&) noexcept;
  Supervised& operator=(Supervised&&) noexcept;

  // Asks the task to end: its current wait throws operation_aborted, it is not started again. Harmless twice.
  void stop();

  // True when the task's coroutine is gone (also when its execution context was torn down).
  bool ended() const;

  // Waits until it has ended. Returns ended(). Not from a thread that the task needs to get on: it would time
  // out.
  bool wait_for(std::chrono::milliseconds limit) const;

  struct State;

 private:
  friend Supervised supervise(boost::asio::any_io_executor executor, std::string name,
                              std::function<boost::asio::awaitable<void>()> task, RestartPause pause);
  explicit Supervised(std::shared_ptr<State> state) : state_(std::move(state)) {}
  std::shared_ptr<State> state_;
};

// Runs `task` on `executor`: a strand, else a strand is made of it. `name` is for the log. `task` is kept
// until it has ended, so it may own what its coroutines use.
[[nodiscard]] Supervised supervise(boost::asio::any_io_executor executor, std::string name,
                                   std::function<boost::asio::awaitable<void>()> task,
                                   RestartPause pause = {});

}  // namespace rookery::net
