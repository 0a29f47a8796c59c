#include "camera/feed.h"

#include <algorithm>
#include <atomic>
#include <mutex>
#include <optional>
#include <tuple>
#include <vector>

#include <boost/asio.hpp>

#include "base/log.h"

namespace rookery::camera {

namespace asio = boost::asio;
using boost::system::error_code;

namespace {

// Where the waiting viewers of one execution context sit: all on one timer that never expires. Cancelling it
// hands all of them to the scheduler in a single batch, which is what makes a thousand viewers cheap; and a
// context that is torn down destroys them like any other pending wait.
struct WaitingRoom {
  explicit WaitingRoom(const asio::any_io_executor& executor)
      : context(&asio::query(executor, asio::execution::context)),
        bell(executor, asio::steady_timer::time_point::max()) {}

  asio::execution_context* context;
  asio::steady_timer bell;  // guarded by the feed's mutex
  std::size_t viewers = 0;
};

}  // namespace

struct Feed::State {
  // Held during a whole publish: taps see frames in order and one at a time, and a tap's destructor can wait
  // for a call that is running. Always taken before `mutex`.
  std::mutex publishing;
  std::vector<Tap*> taps;

  mutable std::mutex mutex;
  FramePtr latest;
  std::uint64_t tick = 0;  // frames published
  bool closed = false;
  std::size_t viewers = 0;
  std::uint64_t skipped = 0;
  std::vector<std::unique_ptr<WaitingRoom>> rooms;

  void ring() {
    for (const auto& room : rooms) room->bell.cancel();
  }
};

Feed::Feed() : state_(std::make_unique<State>()) {}
Feed::~Feed() = default;

void Feed::publish(FramePtr frame) {
  const std::lock_guard publishing(state_->publishing);
  {
    const std::lock_guard lock(state_->mutex);
    if (state_->closed) return;
    state_->latest = frame;
    ++state_->tick;
    state_->ring();
  }
  for (Tap* tap : state_->taps) {
    try {
      tap->function_(frame);
    } catch (const std::exception& e) {
      base::log_error("feed", "a reader of every frame failed: {}", e.what());
    }
  }
}

FramePtr Feed::latest() const {
  const std::lock_guard lock(state_->mutex);
  return state_->latest;
}

void Feed::close() {
  const std::lock_guard lock(state_->mutex);
  state_->closed = true;
  state_->ring();
}

bool Feed::closed() const {
  const std::lock_guard lock(state_->mutex);
  return state_->closed;
}

std::unique_ptr<Feed::Tap> Feed::tap(TapFunction function) {
  std::unique_ptr<Tap> made(new Tap(shared_from_this(), std::move(function)));
  const std::lock_guard publishing(state_->publishing);
  state_->taps.push_back(made.get());
  return made;
}

Feed::Tap::~Tap() {
  const std::lock_guard publishing(feed_->state_->publishing);
  std::erase(feed_->state_->taps, this);
}

std::size_t Feed::viewers() const {
  const std::lock_guard lock(state_->mutex);
  return state_->viewers;
}

std::uint64_t Feed::skipped() const {
  const std::lock_guard lock(state_->mutex);
  return state_->skipped;
}

struct FeedViewer::State {
  State(std::shared_ptr<Feed> feed_, asio::any_io_executor executor_)
      : feed(std::move(feed_)), executor(std::move(executor_)) {
    Feed::State& shared = *feed->state_;
    const std::lock_guard lock(shared.mutex);
    // The latest frame is new to this viewer; those before it are none of its business.
    seen = shared.tick == 0 ? 0 : shared.tick - 1;
    ++shared.viewers;
    auto* context = &asio::query(executor, asio::execution::context);
    const auto found = std::ranges::find(shared.rooms, context, [](const auto& r) { return r->context; });
    room = found != shared.rooms.end()
               ? found->get()
               : shared.rooms.emplace_back(std::make_unique<WaitingRoom>(executor)).get();
    ++room->viewers;
  }

  ~State() {
    Feed::State& shared = *feed->state_;
    const std::lock_guard lock(shared.mutex);
    --shared.viewers;
    // The last one out takes the room along: a timer must not outlive its context, the feed may.
    if (--room->viewers == 0) std::erase_if(shared.rooms, [&](const auto& r) { return r.get() == room; });
  }

  State(const State&) = delete;
  State& operator=(const State&) = delete;

  // What next() can answer without waiting: a frame, null for "closed", nothing for "wait".
  std::optional<FramePtr> take() {
    Feed::State& shared = *feed->state_;
    const std::lock_guard lock(shared.mutex);
    if (shared.closed) return FramePtr();
    if (shared.tick == seen) return std::nullopt;
    skipped += shared.tick - seen - 1;
    shared.skipped += shared.tick - seen - 1;
    seen = shared.tick;
    return shared.latest;
  }

  // Sits down on the bell; `handler` gets an error code that says nothing. The look at the tick and the
  // sitting down are one step under the mutex, so no frame can slip through between them.
  template <class Handler>
  void wait(Handler&& handler) {
    Feed::State& shared = *feed->state_;
    std::unique_lock lock(shared.mutex);
    if (!shared.closed && shared.tick == seen) {
      room->bell.async_wait(std::forward<Handler>(handler));
      return;
    }
    lock.unlock();
    asio::post(executor,
               [handler = std::forward<Handler>(handler)]() mutable { std::move(handler)(error_code{}); });
  }

  static asio::awaitable<FramePtr> next(std::shared_ptr<State> self) {
    for (;;) {
      const asio::cancellation_state cancellation = co_await asio::this_coro::cancellation_state;
      if (cancellation.cancelled() != asio::cancellation_type::none) {
        throw boost::system::system_error(asio::error::operation_aborted);
      }
      std::optional<FramePtr> ready = self->take();
      if (ready) co_return std::move(*ready);
      // The bell rings by cancelling, so the code of a wake-up is operation_aborted as well; the two are told
      // apart by the coroutine's own cancellation state.
      auto token = asio::as_tuple(asio::use_awaitable);
      auto initiation = [self = self.get()](auto&& handler) {
        self->wait(std::forward<decltype(handler)>(handler));
      };
      auto waiting = asio::async_initiate<decltype(token), void(error_code)>(std::move(initiation), token);
      const std::tuple<error_code> woken = co_await std::move(waiting);
      static_cast<void>(woken);
    }
  }

  std::shared_ptr<Feed> feed;
  asio::any_io_executor executor;
  WaitingRoom* room = nullptr;
  std::uint64_t seen = 0;
  std::atomic<std::uint64_t> skipped = 0;
};

FeedViewer::FeedViewer(std::shared_ptr<Feed> feed, asio::any_io_executor executor)
    : state_(std::make_shared<State>(std::move(feed), std::move(executor))) {}
FeedViewer::~FeedViewer() = default;

asio::awaitable<FramePtr> FeedViewer::next() { return State::next(state_); }

std::uint64_t FeedViewer::skipped() const { return state_->skipped; }

}  // namespace rookery::camera
