// Inner: an acceptance test that runs. For prove.cpp and prove_steps.cpp only.
#pragma once

#include <condition_variable>
#include <deque>
#include <future>
#include <mutex>
#include <random>
#include <thread>

#include <boost/asio.hpp>

#include "camera/prove.h"
#include "camera/prove_asks.h"
#include "camera/prove_books.h"

namespace rookery::camera {

namespace asio = boost::asio;
using base::Error;
using base::ErrorCode;
using base::MonoTime;
using base::Result;
using std::chrono::milliseconds;

inline constexpr milliseconds kAskLimit{5000};

// What the I/O thread hands over. any-thread.
class ProveInbox {
 public:
  void put(FramePtr frame) {
    const std::lock_guard lock(mutex_);
    frames_.push_back(std::move(frame));
    came_.notify_one();
  }
  void put(const std::optional<net::TcpVitals>& vitals) {
    const std::lock_guard lock(mutex_);
    vitals_ = vitals;
    came_.notify_one();
  }
  // What is there; waits up to `limit` for the first.
  std::pair<std::deque<FramePtr>, std::optional<std::optional<net::TcpVitals>>> take(milliseconds limit) {
    std::unique_lock lock(mutex_);
    came_.wait_for(lock, limit, [this] { return !frames_.empty() || vitals_; });
    return {std::exchange(frames_, {}), std::exchange(vitals_, std::nullopt)};
  }

 private:
  std::mutex mutex_;
  std::condition_variable came_;
  std::deque<FramePtr> frames_;
  std::optional<std::optional<net::TcpVitals>> vitals_;
};

// The I/O context on a thread of its own, so that no measuring delays an arrival.
class ProveThread {
 public:
  ProveThread() : work_(context_.get_executor()), thread_([this] { context_.run(); }) {}
  ~ProveThread() {
    work_.reset();
    context_.stop();
    thread_.join();
  }
  ProveThread(const ProveThread&) = delete;
  ProveThread& operator=(const ProveThread&) = delete;
  asio::any_io_executor executor() { return context_.get_executor(); }

 private:
  asio::io_context context_{1};
  asio::executor_work_guard<asio::io_context::executor_type> work_;
  std::thread thread_;
};

// A Result has no value before it has one, which Asio's futures ask for.
template <class T>
asio::awaitable<void> keep_answer(asio::awaitable<T> asking, std::shared_ptr<std::optional<T>> into) {
  T answer = co_await std::move(asking);
  into->emplace(std::move(answer));
}

// Belongs to the caller's thread.
class ProveRun {
 public:
  ProveRun(const ProveOptions& options, const base::Clock& clock, const KeepGoing& keep_going)
      : options_(options),
        clock_(clock),
        keep_going_(keep_going),
        began_(clock.mono()),
        books_(began_),
        pull_(io_.executor(), options.settings, options.limits, clock, std::random_device{}()),
        tap_(pull_.feed()->tap([inbox = inbox_](const FramePtr& frame) { inbox->put(frame); })) {}

  Result<Measurements> operator()();

 private:
  bool polled() const { return options_.settings.source == Source::stills || pull_.status().polling; }
  const std::string& pulled_address() const {
    return options_.settings.source == Source::stills ? options_.settings.still_address
                                                      : options_.settings.stream_address;
  }
  milliseconds sizes_take() const {
    const bool known = options_.sizes && options_.profile && options_.profile->sizes;
    return known ? options_.each_size * static_cast<int>(options_.profile->sizes->steps.size())
                 : milliseconds(0);
  }
  MonoTime now() const { return clock_.mono(); }

  void ask_stills();
  std::optional<Error> watch(std::string_view stage, milliseconds length);
  void ask_second_viewer();
  // prove_steps.cpp: what the board is told to do.
  Result<void> set(std::string_view stage, const std::string& key, int value);
  void watch_lamp(milliseconds length);
  void switch_lamp_off(bool was_on);
  void watch_sizes(milliseconds length);
  Result<int> fetch_value(std::string_view stage, const std::string& key);
  Result<SizeStep> watch_size(int value, bool is_new, milliseconds length);
  void set_size_back(int value, PixelSize before);
  void find_age_by_lamp(StillMeasures& stills);
  std::optional<StillSeen> one_still(std::string_view stage);
  bool pump(std::string_view stage);
  template <class T>
  T ask(std::string_view stage, milliseconds limit,
        const std::function<asio::awaitable<T>(net::HttpClient&)>& begin);
  Result<net::Address> with_sign_in(const std::string& address) const;
  void stop_pull();

  const ProveOptions& options_;
  const base::Clock& clock_;
  const KeepGoing& keep_going_;
  const MonoTime began_;
  ProveBooks books_;
  const std::shared_ptr<ProveInbox> inbox_ = std::make_shared<ProveInbox>();
  ProveThread io_;
  const asio::any_io_executor strand_ = asio::make_strand(io_.executor());
  Pull pull_;
  std::unique_ptr<Feed::Tap> tap_;
  MonoTime tcp_asked_{};
  bool going_ = true;
  bool is_over_ = false;  // the pull has ended
  std::string cut_short_;
  std::optional<LampMeasures> lamp_;
  std::optional<SizeMeasures> sizes_;
  std::optional<SecondViewer> second_;
  std::string why_no_second_;
  std::string why_no_still_;
};

// Runs what `begin` makes on the strand and goes on taking in pictures meanwhile. A wish to stop ends it.
template <class T>
T ProveRun::ask(std::string_view stage, milliseconds limit,
                const std::function<asio::awaitable<T>(net::HttpClient&)>& begin) {
  net::HttpOptions options;
  options.open = limit;
  options.silence = limit;
  auto client = std::make_shared<net::HttpClient>(strand_, std::move(options));
  const auto answer = std::make_shared<std::optional<T>>();
  std::future<void> answered = asio::co_spawn(strand_, keep_answer(begin(*client), answer), asio::use_future);
  const bool was_going = going_;
  bool closed = false;
  while (answered.wait_for(milliseconds(0)) != std::future_status::ready) {
    if (pump(stage) || !was_going || closed) continue;
    closed = true;
    asio::post(strand_, [client] { client->close(); });
  }
  // Its timers belong to the strand, and go there.
  asio::post(strand_, asio::use_future([client = std::move(client)]() mutable { client.reset(); })).get();
  answered.get();  // throws what the coroutine threw
  return std::move(**answer);
}

}  // namespace rookery::camera
