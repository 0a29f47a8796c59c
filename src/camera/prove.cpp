#include "camera/prove.h"

#include <algorithm>

#include <fmt/format.h>

#include "camera/check.h"
#include "camera/prove_run.h"

namespace rookery::camera {

namespace {

constexpr milliseconds kBeat{100};  // how often a person's wish to stop is looked at
constexpr milliseconds kTcpEvery{1000};
constexpr milliseconds kBetweenStills{300};
constexpr milliseconds kLetGo{2000};
constexpr milliseconds kLampLeast{2000};
constexpr milliseconds kLampMost{60'000};
constexpr int kStillsGivenUpAfter = 2;  // failures in a row

// Errors that do not go away by waiting: nothing more can be learned from asking again.
bool is_final(ErrorCode code) {
  return code == ErrorCode::malformed || code == ErrorCode::unsupported || code == ErrorCode::no_permission ||
         code == ErrorCode::invalid_value;
}

}  // namespace

Result<net::Address> ProveRun::with_sign_in(const std::string& text) const {
  auto address = net::Address::parse(text);
  if (address && (!options_.settings.user.empty() || !options_.settings.password.empty())) {
    address->user = options_.settings.user;
    address->password = options_.settings.password;
  }
  return address;
}

// Takes in what came, for a beat at most. False when a person wants to stop.
bool ProveRun::pump(std::string_view stage) {
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
        options_.look_least,
        std::chrono::nanoseconds(static_cast<std::int64_t>(
            static_cast<double>(std::chrono::nanoseconds(cost).count()) / options_.looks_of_core))));
  }
  // Of a polled board each still is a connection of its own, which is gone by now.
  if (vitals) books_.tcp(*vitals, now());
  const double whole_s =
      std::chrono::duration<double>(options_.duration + options_.second_viewer_after + sizes_take()).count();
  const double share = std::chrono::duration<double>(now() - began_).count() / whole_s;
  if (going_ && !keep_going_(stage, std::clamp(share, 0.0, 0.99))) going_ = false;
  return going_;
}

void ProveRun::ask_stills() {
  if (options_.stills <= 0) return;
  if (options_.settings.still_address.empty()) {
    why_no_still_ = "no still address is known (give --still, or a profile)";
    return;
  }
  const auto address = with_sign_in(options_.settings.still_address);
  if (!address) return;
  int failed = 0;
  for (int i = 0; i < options_.stills && going_ && failed < kStillsGivenUpAfter; ++i) {
    const auto seen = ask<Result<StillSeen>>("asking for stills", kAskLimit, [&](net::HttpClient& client) {
      return fetch_still(client, *address, clock_);
    });
    if (!going_) break;
    books_.still(seen);
    failed = seen ? 0 : failed + 1;
    for (const MonoTime next = now() + kBetweenStills; now() < next && pump("asking for stills");) {
    }
  }
}

// Takes in pictures for so long. An error when none ever came; then the test is over.
std::optional<Error> ProveRun::watch(std::string_view stage, milliseconds length) {
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

void ProveRun::stop_pull() {
  pull_.stop();
  pull_.wait_let_go(kLetGo);
  books_.interrupted_by_us();
}

void ProveRun::ask_second_viewer() {
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

Result<Measurements> ProveRun::operator()() {
  ask_stills();
  if (!going_) return Error(ErrorCode::cancelled, "prove", "stopped before the first picture came");
  std::string why_no_lamp;
  if (options_.lamp && (!options_.profile || !options_.profile->lamp))
    why_no_lamp = "no board profile says how its lamp is switched (--profile NAME)";
  const bool with_lamp = options_.lamp && why_no_lamp.empty();
  std::string why_no_sizes;
  if (!options_.profile || !options_.profile->sizes)
    why_no_sizes = "no board profile says how its size is set (--profile NAME with a table [sizes])";
  const milliseconds lamp_length =
      with_lamp ? std::clamp(options_.duration / 4, kLampLeast, kLampMost) : milliseconds(0);
  pull_.start();
  if (auto error = watch("measuring", std::max(options_.duration - lamp_length, kLampLeast))) return *error;
  if (options_.sizes && going_ && cut_short_.empty()) {
    if (why_no_sizes.empty()) watch_sizes(options_.each_size);
    if (!sizes_) sizes_ = SizeMeasures{.why_not = why_no_sizes, .steps = {}, .set_back = true};
  }
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
  is_over_ = true;
  const bool lamp_works =
      lamp_ && lamp_->why_not.empty() && options_.stills > 0 && !options_.settings.still_address.empty();
  if (!out.stills.oldest && lamp_works && going_ && cut_short_.empty()) find_age_by_lamp(out.stills);
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
  out.sizes = sizes_;
  return out;
}

Result<Measurements> prove(const ProveOptions& options, const base::Clock& clock,
                           const KeepGoing& keep_going) {
  if (options.settings.source == Source::pushed) {
    return Error(ErrorCode::unsupported, options.settings.name.text(),
                 "this board sends its stills itself; there is nothing to ask it",
                 "Look at its events and vitals in the station instead");
  }
  if (auto checked = check(options.settings); !checked) return checked.error();
  ProveRun run(options, clock, keep_going);
  return run();
}

}  // namespace rookery::camera
