#include "net/supervise.h"

#include <atomic>
#include <condition_variable>
#include <exception>
#include <mutex>

#include <boost/asio.hpp>

#include "base/log.h"

namespace rookery::net {

namespace asio = boost::asio;

struct Supervised::State {
  State(asio::any_io_executor strand_, std::string name_, std::function<asio::awaitable<void>()> task_,
        RestartPause pause_)
      : strand(std::move(strand_)), name(std::move(name_)), task(std::move(task_)), pause(pause_) {}

  void mark_ended() {
    const std::lock_guard lock(mutex);
    done = true;
    // A strand refers to its context's service even when it dies; the handle may outlive the context.
    strand = asio::any_io_executor();
    changed.notify_all();
  }

  asio::any_io_executor strand;  // guarded by the mutex; none once it has ended
  const std::string name;
  std::function<asio::awaitable<void>()> task;  // strand-bound
  const RestartPause pause;
  asio::cancellation_signal signal;  // strand-bound
  std::atomic<bool> stopping = false;

  mutable std::mutex mutex;
  mutable std::condition_variable changed;
  bool done = false;
};

namespace {

using StatePtr = std::shared_ptr<Supervised::State>;

// A parameter of the coroutine, so it lives in its frame from the call on: however that ends, also by a
// context that is torn down before the first step, the handle learns of it.
struct EndMark {
  explicit EndMark(StatePtr state_) : state(std::move(state_)) {}
  ~EndMark() {
    state->task = nullptr;
    state->mark_ended();
  }
  EndMark(const EndMark&) = delete;
  EndMark& operator=(const EndMark&) = delete;
  StatePtr state;
};

std::string text_of(const std::exception_ptr& error) {
  try {
    std::rethrow_exception(error);
  } catch (const std::exception& e) {
    return e.what();
  } catch (...) {
    return "something that is no std::exception";
  }
}

// One run of the task. Null when it returned by itself.
asio::awaitable<std::exception_ptr> run_once(StatePtr state) {
  std::exception_ptr error;
  try {
    auto running = state->task();
    co_await std::move(running);
  } catch (...) {
    error = std::current_exception();
  }
  co_return error;
}

asio::awaitable<void> run(std::unique_ptr<EndMark> mark) {
  const StatePtr state = mark->state;
  auto pause = state->pause.first;
  for (;;) {
    const auto began = std::chrono::steady_clock::now();
    auto once = run_once(state);
    const std::exception_ptr error = co_await std::move(once);
    if (state->stopping || !error) co_return;
    if (std::chrono::steady_clock::now() - began > state->pause.most) pause = state->pause.first;
    base::log_error(state->name, "failed and is started again in {} ms: {}", pause.count(), text_of(error));
    asio::steady_timer timer(co_await asio::this_coro::executor, pause);
    auto waiting = timer.async_wait(asio::as_tuple(asio::use_awaitable));
    static_cast<void>(co_await std::move(waiting));
    if (state->stopping) co_return;
    pause = std::min(pause * 2, state->pause.most);
  }
}

bool is_strand(const asio::any_io_executor& executor) {
  return executor.target<asio::strand<asio::io_context::executor_type>>() != nullptr ||
         executor.target<asio::strand<asio::thread_pool::executor_type>>() != nullptr ||
         executor.target<asio::strand<asio::any_io_executor>>() != nullptr;
}

}  // namespace

Supervised supervise(asio::any_io_executor executor, std::string name,
                     std::function<asio::awaitable<void>()> task, RestartPause pause) {
  const asio::any_io_executor strand = is_strand(executor) ? executor : asio::make_strand(executor);
  auto state = std::make_shared<Supervised::State>(strand, std::move(name), std::move(task), pause);
  // The signal's slot is set up here, before anyone can stop; from now on it belongs to the strand.
  asio::co_spawn(strand, run(std::make_unique<EndMark>(state)),
                 asio::bind_cancellation_slot(state->signal.slot(), [state](const std::exception_ptr& error) {
                   if (error && !state->stopping) base::log_error(state->name, "ended: {}", text_of(error));
                 }));
  return Supervised(std::move(state));
}

Supervised::~Supervised() { stop(); }
Supervised::Supervised(Supervised&&) noexcept = default;

Supervised& Supervised::operator=(Supervised&& other) noexcept {
  if (this != &other) {
    stop();
    state_ = std::move(other.state_);
  }
  return *this;
}

void Supervised::stop() {
  if (!state_ || state_->stopping.exchange(true)) return;
  const std::lock_guard lock(state_->mutex);
  if (state_->done) return;
  asio::post(state_->strand, [state = state_] { state->signal.emit(asio::cancellation_type::terminal); });
}

bool Supervised::ended() const {
  if (!state_) return true;
  const std::lock_guard lock(state_->mutex);
  return state_->done;
}

bool Supervised::wait_for(std::chrono::milliseconds limit) const {
  if (!state_) return true;
  std::unique_lock lock(state_->mutex);
  return state_->changed.wait_for(lock, limit, [&] { return state_->done; });
}

}  // namespace rookery::net
