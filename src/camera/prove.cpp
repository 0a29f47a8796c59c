#include "camera/prove.h"

#include <algorithm>
#include <condition_variable>
#include <deque>
#include <future>
#include <mutex>
#include <random>
#include <thread>

#include <fmt/format.h>
#include <boost/asio.hpp>

#include "camera/check.h"
#include "camera/prove_asks.h"
#include "camera/prove_books.h"

namespace rookery::camera {

namespace asio = boost::asio;
using base::Error;
using base::ErrorCode;
using base::MonoTime;
using base::Result;
using std::chrono::milliseconds;

namespace {

constexpr milliseconds kBeat{100};  // how often a person's wish to stop is looked at
constexpr milliseconds kTcpEvery{1000};
constexpr milliseconds kBetweenStills{300};
constexpr milliseconds kAskLimit{5000};
constexpr milliseconds kLetGo{2000};
constexpr milliseconds kLampLeast{2000};
constexpr milliseconds kLampMost{60'000};
constexpr int kStillsGivenUpAfter = 2;  // failures in a row
// A look may take this share of one core; looks become rarer until it does.
constexpr double kLooksOfCore = 0.01;
constexpr milliseconds kLookLeast{1000};

// What the I/O thread hands over. any-thread.
class Inbox {
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
class IoThread {
 public:
  IoThread() : work_(context_.get_executor()), thread_([this] { context_.run(); }) {}
  ~IoThread() {
    work_.reset();
    context_.stop();
    thread_.join();
  }
  IoThread(const IoThread&) = delete;
  IoThread& operator=(const IoThread&) = delete;
  asio::any_io_executor executor() { return context_.get_executor(); }

 private:
  asio::io_context context_{1};
  asio::executor_work_guard<asio::io_context::executor_type> work_;
  std::thread thread_;
};

// Errors that do not go away by waiting: nothing more can be learned from asking again.
bool is_final(ErrorCode code) {
  return code == ErrorCode::malformed || code == ErrorCode::unsupported || code == ErrorCode::no_permission ||
         code == ErrorCode::invalid_value;
}

// A Result has no value before it has one, which Asio's futures ask for.
template <class T>
asio::awaitable<void> keep_answer(asio::awaitable<T> asking, std::shared_ptr<std::optional<T>> into) {
  T answer = co_await std::move(asking);
  into->emplace(std::move(answer));
}

class Run {
 public:
  Run(const ProveOptions& options, const base::Clock& clock, const KeepGoing& keep_going)
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
  MonoTime now() const { return clock_.mono(); }

  void ask_stills();
  std::optional<Error> watch(std::string_view stage, milliseconds length);
  void watch_lamp(milliseconds length);
  Result<void> switch_lamp(int value);
  void ask_second_viewer();
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
  const std::shared_ptr<Inbox> inbox_ = std::make_shared<Inbox>();
  IoThread io_;
  const asio::any_io_executor strand_ = asio::make_strand(io_.executor());
  Pull pull_;
  std::unique_ptr<Feed::Tap> tap_;
  MonoTime tcp_asked_{};
  bool going_ = true;
  std::string cut_short_;
  std::optional<LampMeasures> lamp_;
  std::optional<SecondViewer> second_;
  std::string why_no_second_;
  std::string why_no_still_;
};

Result<net::Address> Run::with_sign_in(const std::string& text) const {
  auto address = net::Address::parse(text);
  if (address && (!options_.settings.user.empty() || !options_.settings.password.empty())) {
    address->user = options_.settings.user;
    address->password = options_.settings.password;
  }
  return address;
}

// Takes in what came, for a beat at most. False when a person wants to stop.
bool Run::pump(std::string_view stage) {
  if (now() - tcp_asked_ >= kTcpEvery) {
    tcp_asked_ = now();
    pull_.ask_tcp([inbox = inbox_](const std::optional<net::TcpVitals>& vitals) { inbox->put(vitals); });
  }
  auto [frames, vitals] = inbox_->take(kBeat);
  for (const FramePtr& frame : frames) {
    const MonoTime before = now();
    if (!books_.frame(frame)) continue;
    const auto cost = now() - before;
    books_.set_look_every(std::max<std::chrono::nanoseconds>(
        kLookLeast, std::chrono::nanoseconds(static_cast<std::int64_t>(
                        static_cast<double>(std::chrono::nanoseconds(cost).count()) / kLooksOfCore))));
  }
  // Of a polled board each still is a connection of its own, which is gone by now.
  if (vitals) books_.tcp(*vitals, now());
  const double whole_s =
      std::chrono::duration<double>(options_.duration + options_.second_viewer_after).count();
  const double share = std::chrono::duration<double>(now() - began_).count() / whole_s;
  if (going_ && !keep_going_(stage, std::clamp(share, 0.0, 0.99))) going_ = false;
  return going_;
}

// Runs what `begin` makes on the strand and goes on taking in pictures meanwhile. A wish to stop ends it.
template <class T>
T Run::ask(std::string_view stage, milliseconds limit,
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

void Run::ask_stills() {
  if (options_.stills <= 0) return;
  if (options_.settings.still_address.empty()) {
    why_no_still_ = "no still address is known (give --still, or a profile)";
    return;
  }
  const auto address = with_sign_in(options_.settings.still_address);
  if (!address) return;
  int failed = 0;
  for (int i = 0; i < options_.stills && going_ && failed < kStillsGivenUpAfter; ++i) {
    const auto took = ask<Result<Millis>>("asking for stills", kAskLimit, [&](net::HttpClient& client) {
      return fetch_still(client, *address, clock_);
    });
    if (!going_) break;
    books_.still(took);
    failed = took ? 0 : failed + 1;
    for (const MonoTime next = now() + kBetweenStills; now() < next && pump("asking for stills");) {
    }
  }
}

// Takes in pictures for so long. An error when none ever came; then the test is over.
std::optional<Error> Run::watch(std::string_view stage, milliseconds length) {
  const MonoTime from = now();
  while (now() - from < length) {
    if (!pump(stage)) break;
    const auto last = books_.last_frame();
    if (last && now() - *last > options_.dead_after) {
      cut_short_ = fmt::format("no picture came any more for {:.0f} s",
                               std::chrono::duration<double>(now() - *last).count());
      break;
    }
    const Status status = pull_.status();
    if (status.polling) books_.asked_one_by_one();
    if (last) continue;
    const bool given_up = now() - from > options_.first_picture;
    if (status.last_error && (given_up || is_final(status.last_error->code))) return status.last_error;
    if (given_up) {
      return Error(ErrorCode::timed_out, pulled_address(),
                   fmt::format("no picture came for {:.0f} s",
                               std::chrono::duration<double>(options_.first_picture).count()),
                   "Is the board powered and on this network? Does another viewer hold its stream?");
    }
  }
  if (books_.frames() > 0) return std::nullopt;
  const Status status = pull_.status();
  if (status.last_error) return status.last_error;
  if (!going_) return Error(ErrorCode::cancelled, "prove", "stopped before the first picture came");
  return Error(ErrorCode::timed_out, "prove", "no picture came in the time that was given",
               "Give it longer with --minutes; boards take some seconds to begin");
}

void Run::stop_pull() {
  pull_.stop();
  pull_.wait_let_go(kLetGo);
  books_.interrupted_by_us();
}

// One control request; a board that answers none while it streams is let go meanwhile.
Result<void> Run::switch_lamp(int value) {
  const Profile& profile = *options_.profile;
  auto host = with_sign_in(pulled_address());
  if (!host) return host.error();
  auto address = profile.control_at(*host, profile.lamp->key, value);
  if (!address) return address.error();
  if (!profile.control->while_streaming) stop_pull();
  auto switched = ask<Result<void>>("switching the lamp", kAskLimit,
                                    [&](net::HttpClient& client) { return fetch_control(client, *address); });
  if (!profile.control->while_streaming && going_) pull_.start();
  return switched;
}

void Run::watch_lamp(milliseconds length) {
  lamp_.emplace();
  const Status before = pull_.status();
  const int restarts_before = books_.restarts();
  const auto on = switch_lamp(options_.profile->lamp->on);
  if (!on) lamp_->why_not = "the lamp could not be switched on: " + on.error().text();
  if (on) {
    books_.phase(ProvePhase::lamp);
    static_cast<void>(watch("lamp on", length));
    lamp_->intervals = books_.intervals(ProvePhase::lamp);
    lamp_->restarts = books_.restarts() - restarts_before;
    lamp_->dropouts = static_cast<int>(pull_.status().counters.dropouts - before.counters.dropouts);
  }
  // Also when it did not answer: it may have heard. A board that just restarted may not hear it the first
  // time; its lamp is off then.
  const auto off = switch_lamp(options_.profile->lamp->off);
  if (on && !off) cut_short_ = "the lamp may still be on: " + off.error().text();
  books_.phase(ProvePhase::plain);
}

void Run::ask_second_viewer() {
  if (!going_) why_no_second_ = "the test was stopped before";
  if (polled()) why_no_second_ = "there is no stream";
  if (!cut_short_.empty()) why_no_second_ = cut_short_;
  if (pull_.status().state != State::live && why_no_second_.empty())
    why_no_second_ = "the stream was down at the end";
  if (!why_no_second_.empty()) return;
  const auto address = with_sign_in(options_.settings.stream_address);
  if (!address) return;
  books_.phase(ProvePhase::second_viewer);
  const std::uint64_t dropouts_before = pull_.status().counters.dropouts;
  SecondViewer second;
  second.answer = ask<SecondViewer::Answer>(
      "asking as a second viewer", options_.second_viewer,
      [&](net::HttpClient& client) { return ask_as_second_viewer(client, *address); });
  for (const MonoTime until = now() + options_.second_viewer_after; now() < until;) {
    if (!pump("asking as a second viewer")) break;
  }
  const Status status = pull_.status();
  second.first_longest = books_.intervals(ProvePhase::second_viewer).longest;
  second.first_suffered = status.counters.dropouts > dropouts_before || status.state != State::live;
  if (going_) second_ = second;
  if (!going_) why_no_second_ = "the test was stopped before";
}

Result<Measurements> Run::operator()() {
  ask_stills();
  if (!going_) return Error(ErrorCode::cancelled, "prove", "stopped before the first picture came");
  std::string why_no_lamp;
  if (options_.lamp && (!options_.profile || !options_.profile->lamp))
    why_no_lamp = "no board profile says how its lamp is switched (--profile NAME)";
  const bool with_lamp = options_.lamp && why_no_lamp.empty();
  const milliseconds lamp_length =
      with_lamp ? std::clamp(options_.duration / 4, kLampLeast, kLampMost) : milliseconds(0);
  pull_.start();
  if (auto error = watch("measuring", std::max(options_.duration - lamp_length, kLampLeast))) return *error;
  if (with_lamp && going_ && cut_short_.empty()) watch_lamp(lamp_length);
  if (options_.lamp && !lamp_) {
    lamp_.emplace();
    lamp_->why_not = why_no_lamp.empty() ? "the test ended before" : why_no_lamp;
  }
  const MonoTime measured_until = now();
  const Status status = pull_.status();
  ask_second_viewer();
  Measurements out = books_.close(status, measured_until, [this](int height_px) {
    return options_.profile ? options_.profile->readout_of(height_px) : std::nullopt;
  });
  pull_.stop();
  pull_.wait_let_go(kLetGo);
  out.camera = options_.settings.name.text();
  if (const auto address = net::Address::parse(pulled_address())) out.address = address->shown();
  if (options_.profile) {
    out.profile = options_.profile->name;
    out.rotation = options_.profile->rotation;
  }
  out.began = clock_.wall() - std::chrono::duration_cast<base::Microseconds>(now() - began_);
  out.wanted_s = std::chrono::duration<double>(options_.duration).count();
  out.interrupted = !going_;
  out.cut_short = cut_short_;
  out.polled = polled();
  out.poll_every = options_.settings.poll_every;
  if (out.stills.why_not.empty()) out.stills.why_not = why_no_still_;
  out.second_viewer = second_;
  out.why_no_second_viewer = why_no_second_;
  out.lamp = lamp_;
  return out;
}

}  // namespace

Result<Measurements> prove(const ProveOptions& options, const base::Clock& clock,
                           const KeepGoing& keep_going) {
  if (options.settings.source == Source::pushed) {
    return Error(ErrorCode::unsupported, options.settings.name.text(),
                 "this board sends its stills itself; there is nothing to ask it",
                 "Look at its events and vitals in the station instead");
  }
  if (auto checked = check(options.settings); !checked) return checked.error();
  Run run(options, clock, keep_going);
  return run();
}

}  // namespace rookery::camera
