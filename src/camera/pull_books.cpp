#include "camera/pull_books.h"

#include <algorithm>

#include <fmt/format.h>

#include "jpeg/walk.h"

namespace rookery::camera {

using base::Error;
using base::ErrorCode;
using base::MonoTime;
using base::Result;

namespace {

constexpr std::chrono::seconds kRateWindow{5};
constexpr std::chrono::milliseconds kLateCounts{200};  // of a timer of our own; less is of no account

SessionPlan plan_of(const Settings& settings) { return {settings.source, settings.poll_every}; }

SessionLimits limits_of(const PullLimits& limits) {
  SessionLimits out;
  out.backoff_first = limits.backoff_first;
  out.backoff_most = limits.backoff_most;
  out.healthy_after = limits.healthy_after;
  out.fruitless = limits.silence * 3;
  return out;
}

}  // namespace

PullBooks::PullBooks(Settings settings, const PullLimits& limits, const base::Clock& clock,
                     std::uint64_t seed)
    : clock_(clock),
      settings_(std::move(settings)),
      last_mono_(clock.mono()),
      last_wall_(clock.wall()),
      session_(plan_of(settings_), limits_of(limits), seed, last_mono_),
      gaps_(limits.gaps) {}

// The clock may be gone once the pull is; until then it is asked under the mutex, and never runs backward for
// the session, since several threads ask.
MonoTime PullBooks::mono() const {
  if (!closed_) last_mono_ = std::max(last_mono_, clock_.mono());
  return last_mono_;
}

base::WallTime PullBooks::wall_of(MonoTime then, MonoTime now) const {
  if (!closed_) last_wall_ = clock_.wall();
  return last_wall_ - std::chrono::duration_cast<base::Microseconds>(now - then);
}

void PullBooks::start() {
  const std::lock_guard lock(mutex_);
  started_ = true;
  if (!closed_ && settings_.enabled) session_.start(mono());
}

void PullBooks::stop() {
  const std::lock_guard lock(mutex_);
  started_ = false;
  session_.stop(mono());
  gaps_.forget();
  arrivals_.pause();
}

bool PullBooks::set(Settings settings) {
  const std::lock_guard lock(mutex_);
  const bool board_changed = !same_board(settings, settings_);
  const bool enabled_changed = settings.enabled != settings_.enabled;
  settings_ = std::move(settings);
  const MonoTime now = mono();
  if (board_changed) {
    session_.replan(plan_of(settings_), now);
    last_fault_.clear();
    // In a gap it was followed to another address; else it is another board, as far as one can tell.
    if (gaps_.gap_since()) {
      gaps_.moved(now);
    } else {
      gaps_.forget();
    }
  }
  if (board_changed || enabled_changed) arrivals_.pause();
  if (enabled_changed && !settings_.enabled) {
    session_.stop(now);
    gaps_.forget();
  }
  if (enabled_changed && settings_.enabled && started_) session_.start(now);
  return board_changed || enabled_changed;
}

void PullBooks::close() {
  const std::lock_guard publishing(publishing_);
  const std::lock_guard lock(mutex_);
  session_.stop(mono());
  closed_ = true;
}

Session::Next PullBooks::next() {
  const std::lock_guard lock(mutex_);
  return session_.next(mono());
}

std::optional<Settings> PullBooks::opening() {
  const std::lock_guard lock(mutex_);
  if (session_.next(mono()).order != Session::Order::open) return std::nullopt;
  session_.opening(mono());
  return settings_;
}

void PullBooks::opened() {
  const std::lock_guard lock(mutex_);
  session_.opened(mono());
}

void PullBooks::turned_out_single() {
  const std::lock_guard lock(mutex_);
  if (!session_.must_end()) session_.turned_out_single(mono());
}

void PullBooks::rested() {
  const std::lock_guard lock(mutex_);
  session_.rested(mono());
}

void PullBooks::ended(std::optional<Error> error, AttemptSeen how) {
  const std::lock_guard lock(mutex_);
  const MonoTime now = mono();
  if (!session_.must_end() && !closed_) {
    how.at = now;
    gaps_.ended(how);
  }
  session_.ended(now, std::move(error));
  last_fault_.clear();
}

void PullBooks::connected(std::uint64_t connects) {
  const std::lock_guard lock(mutex_);
  counters_.connects = connects;
}

bool PullBooks::must_end() const {
  const std::lock_guard lock(mutex_);
  return closed_ || session_.must_end();
}

bool PullBooks::under_way() const {
  const std::lock_guard lock(mutex_);
  return session_.under_way();
}

bool PullBooks::polling() const {
  const std::lock_guard lock(mutex_);
  return session_.polling();
}

bool PullBooks::fruitless() const {
  const std::lock_guard lock(mutex_);
  return mono() >= session_.give_up_at();
}

std::chrono::nanoseconds PullBooks::until(MonoTime when) const {
  const std::lock_guard lock(mutex_);
  return std::max<std::chrono::nanoseconds>(std::chrono::nanoseconds::zero(), when - mono());
}

void PullBooks::trim(MonoTime now) {
  while (!recent_.empty() && recent_.front().at + kRateWindow < now) recent_.pop_front();
}

Result<void> PullBooks::accept(std::vector<std::byte> jpeg, std::optional<base::Microseconds> stamp) {
  return take(std::move(jpeg), Origin::attempt, stamp);
}

Result<void> PullBooks::push(std::vector<std::byte> jpeg) {
  return take(std::move(jpeg), Origin::pushed, std::nullopt);
}

// Why a pushed still is not taken; nothing when it is. Called with the mutex held.
std::optional<Error> PullBooks::push_refusal() const {
  if (settings_.source != Source::pushed) {
    return Error(ErrorCode::unsupported, settings_.name.text(),
                 "this camera's pictures are fetched, not pushed",
                 "Set its source to pushed if the board sends them by itself");
  }
  if (closed_) {
    return Error(ErrorCode::refused, settings_.name.text(), "this camera was just removed",
                 "Send to a camera that the station has");
  }
  if (!started_ || !settings_.enabled) {
    return Error(ErrorCode::refused, settings_.name.text(), "this camera is off", "Enable it first");
  }
  return std::nullopt;
}

Result<void> PullBooks::take(std::vector<std::byte> jpeg, Origin origin,
                             std::optional<base::Microseconds> stamp) {
  const jpeg::WalkResult walked = jpeg::walk(jpeg);
  const std::lock_guard publishing(publishing_);
  FramePtr frame;
  {
    const std::lock_guard lock(mutex_);
    if (origin == Origin::pushed) {
      // Whoever pushed is told what became of the still, so it is asked here, in one step with the counting.
      // A connection of the source before, which may still be closing, is none of its business.
      if (auto refusal = push_refusal()) return std::move(*refusal);
    } else if (closed_ || session_.must_end()) {
      return base::ok();
    }
    ++counters_.received;
    if (const auto* kind = std::get_if<jpeg::BrokenKind>(&walked)) {
      ++counters_.rejected.at(static_cast<std::size_t>(*kind));
      last_fault_ = fmt::format("{}: {}", jpeg::name_of(*kind), jpeg::explain(*kind));
      if (origin == Origin::attempt) gaps_.broken(mono());
      return Error(ErrorCode::malformed, settings_.name.text(), last_fault_, {});
    }
    const auto& info = std::get<jpeg::PictureInfo>(walked);
    const MonoTime now = mono();
    const base::WallTime wall = wall_of(now, now);
    ++counters_.published;
    counters_.bytes += jpeg.size();
    session_.frame(now);
    last_fault_.clear();
    last_frame_at_ = wall;
    size_ = {info.width_px, info.height_px};
    trim(now);
    recent_.push_back({now, jpeg.size()});
    arrivals_.picture(now);
    frame = std::make_shared<const Frame>(std::move(jpeg), wall, now, ++number_, size_,
                                          FrameOrigin{stamp, counters_.connects});
    if (origin == Origin::attempt) {
      const auto bytes = static_cast<std::uint32_t>(frame->bytes.size());
      gaps_.picture({now, bytes, stamp, std::nullopt, counters_.connects}, frame);
    }
  }
  // Outside the mutex: a reader of every frame may ask for the status.
  feed_->publish(std::move(frame));
  return base::ok();
}

void PullBooks::count_given_up() {
  const std::lock_guard lock(mutex_);
  if (closed_ || session_.must_end()) return;
  ++counters_.received;
  ++counters_.rejected_parts;
  gaps_.broken(mono());
}

PullBooks::GapLook PullBooks::look_for_gaps(std::optional<LinkSample> link, base::Microseconds late) {
  const std::lock_guard lock(mutex_);
  GapLook out;
  if (closed_) return out;
  const MonoTime now = mono();
  if (late > kLateCounts) gaps_.late({now, late});
  if (link) {
    link->at = now;
    link->connection = counters_.connects;
    gaps_.link(*link);
  }
  const bool begun = gaps_.look(now, wall_of(now, now));
  out.over = gaps_.take(now);
  out.gap_since = gaps_.gap_since();
  if (begun) out.began = gaps_.began();
  if (!out.gap_since && gaps_.gives_pictures() && gaps_.last_picture())
    out.last_picture = gaps_.last_picture()->at;
  return out;
}

void PullBooks::probed(ProbeKind kind, ProbeAnswer answer, base::Microseconds took) {
  const std::lock_guard lock(mutex_);
  gaps_.probe({mono(), kind, answer, took});
}

bool PullBooks::long_since(MonoTime then, std::chrono::nanoseconds than) const {
  const std::lock_guard lock(mutex_);
  return mono() - then >= than;
}

void PullBooks::moved() {
  const std::lock_guard lock(mutex_);
  gaps_.moved(mono());
}

std::string PullBooks::last_fault() const {
  const std::lock_guard lock(mutex_);
  return last_fault_;
}

std::string PullBooks::name() const {
  const std::lock_guard lock(mutex_);
  return settings_.name.text();
}

ArrivalSpan PullBooks::take_arrivals() {
  const std::lock_guard lock(mutex_);
  return arrivals_.take(mono());
}

Status PullBooks::status() const {
  const std::lock_guard lock(mutex_);
  const MonoTime now = mono();
  const Session::Seen seen = session_.seen(now);
  Status out;
  out.state = seen.state;
  out.since = wall_of(seen.since, now);
  if (seen.retry_at) out.retry_at = wall_of(*seen.retry_at, now);
  out.last_error = session_.last_error();
  // A board whose pictures are all broken never fails; what is wrong with them is then the last error.
  if (!last_fault_.empty()) {
    out.last_error =
        Error(ErrorCode::malformed, settings_.name.text(), "the last picture is broken: " + last_fault_, {});
  }
  out.last_frame_at = last_frame_at_;
  out.jitter = arrivals_.jitter();
  out.size = size_;
  out.polling = session_.polling();
  out.counters = counters_;
  out.counters.lost = session_.lost();
  out.counters.dropouts = gaps_.dropouts();
  std::size_t frames = 0;
  std::size_t bytes = 0;
  for (const Arrival& arrival : recent_) {
    if (arrival.at + kRateWindow < now) continue;
    ++frames;
    bytes += arrival.bytes;
  }
  // A camera that has just come is measured over the time that it is there, at least a second.
  const std::chrono::duration<double> there = seen.state == State::live ? now - seen.since : kRateWindow;
  const double window_s = std::clamp(there.count(), 1.0, static_cast<double>(kRateWindow.count()));
  out.frames_per_s = static_cast<double>(frames) / window_s;
  out.bytes_per_s = static_cast<double>(bytes) / window_s;
  return out;
}

}  // namespace rookery::camera
