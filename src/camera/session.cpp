#include "camera/session.h"

#include <algorithm>
#include <cassert>

namespace rookery::camera {

using base::MonoTime;
using std::chrono::nanoseconds;

namespace {

// Frames that come further apart than this are no measure of the usual interval (a stall, a reconnect).
constexpr int kSilentIntervals = 5;
// A board that pushes sleeps in between; it counts as asleep after this, or 5 of its usual intervals.
constexpr std::chrono::minutes kAsleepAfter{1};

}  // namespace

Session::Session(SessionPlan plan, SessionLimits limits, std::uint64_t seed, MonoTime now)
    : plan_(plan),
      limits_(limits),
      random_(seed),
      changed_(now),
      opened_at_(now),
      slot_(now),
      live_since_(now),
      run_began_(now) {
  polling_ = plan_.source == Source::stills;
}

void Session::start(MonoTime now) {
  if (wanted_) return;
  wanted_ = true;
  live_ = false;
  failures_ = 0;
  retry_at_.reset();
  slot_ = now;
  changed_ = now;
}

void Session::stop(MonoTime now) {
  if (!wanted_) return;
  wanted_ = false;
  live_ = false;
  retry_at_.reset();
  changed_ = now;
  if (under_way_) overtaken_ = true;
}

void Session::replan(SessionPlan plan, MonoTime now) {
  plan_ = plan;
  polling_ = plan_.source == Source::stills;
  failures_ = 0;
  retry_at_.reset();
  usual_.reset();
  live_ = false;
  last_error_.reset();
  slot_ = now;
  changed_ = now;
  if (under_way_) overtaken_ = true;
}

Session::Next Session::next(MonoTime now) const {
  if (under_way_ || !wanted_ || plan_.source == Source::pushed) return {Order::idle, {}};
  const MonoTime due = std::max(retry_at_.value_or(MonoTime::min()), polling_ ? slot_ : MonoTime::min());
  if (now < due) return {Order::wait, due};
  return {Order::open, {}};
}

MonoTime Session::give_up_at() const {
  return std::max(opened_at_, live_ && last_frame_ ? *last_frame_ : opened_at_) + limits_.fruitless;
}

void Session::opening(MonoTime now) {
  assert(!under_way_ && wanted_);
  under_way_ = true;
  overtaken_ = false;
  opened_ = false;
  opened_at_ = now;
  if (retry_at_ || !live_) changed_ = now;
  retry_at_.reset();
}

void Session::opened(MonoTime now) {
  assert(under_way_);
  opened_ = true;
  opened_at_ = now;
}

void Session::frame(MonoTime now) {
  // Of the connection that is being closed: it says nothing about the next. A pushed still came on none.
  if (overtaken_ && plan_.source != Source::pushed) return;
  const bool was_live = live_ && seen(now).state == State::live;
  if (!live_) run_began_ = now;
  if (!was_live) live_since_ = now;
  if (live_ && last_frame_) {
    const nanoseconds interval = now - *last_frame_;
    if (!usual_) usual_ = interval;
    if (interval < silent_threshold()) usual_ = (*usual_ * 4 + interval) / 5;
  }
  live_ = true;
  last_frame_ = now;
  if (now - run_began_ >= limits_.healthy_after) failures_ = 0;
}

void Session::turned_out_single(MonoTime now) {
  polling_ = true;
  slot_ = now;
}

// The next poll keeps to the grid: it neither drifts by the time that an exchange takes nor catches up in a
// burst.
void Session::advance_slot(MonoTime now) {
  const nanoseconds every = std::max<nanoseconds>(plan_.poll_every, std::chrono::milliseconds(1));
  const auto missed = now > slot_ ? (now - slot_) / every : 0;
  slot_ += every * (missed + 1);
}

void Session::rested(MonoTime now) {
  assert(under_way_);
  under_way_ = false;
  if (std::exchange(overtaken_, false)) return;
  advance_slot(now);
}

nanoseconds Session::backoff() {
  nanoseconds longest = limits_.backoff_first;
  for (int n = 0; n < failures_ && longest < limits_.backoff_most; ++n) longest *= 2;
  longest = std::min<nanoseconds>(longest, limits_.backoff_most);
  // Half of it is jitter: boards that fell together (a power cut) do not come back together.
  std::uniform_int_distribution<nanoseconds::rep> spread(longest.count() / 2, longest.count());
  return nanoseconds(spread(random_));
}

void Session::ended(MonoTime now, std::optional<base::Error> error) {
  assert(under_way_);
  under_way_ = false;
  if (std::exchange(overtaken_, false)) {
    changed_ = now;
    return;
  }
  if (live_) ++lost_;
  live_ = false;
  usual_.reset();
  if (error) last_error_ = std::move(error);
  retry_at_ = now + backoff();
  ++failures_;
  if (polling_) advance_slot(now);
  changed_ = now;
}

nanoseconds Session::silent_threshold() const {
  nanoseconds usual = usual_.value_or(nanoseconds::zero());
  if (polling_) usual = std::max<nanoseconds>(usual, plan_.poll_every);
  const nanoseconds least =
      plan_.source == Source::pushed ? nanoseconds(kAsleepAfter) : nanoseconds(limits_.silent_after);
  return std::max(least, usual * kSilentIntervals);
}

Session::Seen Session::seen(MonoTime now) const {
  if (!wanted_) return {State::off, changed_, std::nullopt};
  if (live_ && (!overtaken_ || plan_.source == Source::pushed)) {
    const MonoTime quiet_from = *last_frame_ + silent_threshold();
    if (now < quiet_from) return {State::live, live_since_, std::nullopt};
    return {plan_.source == Source::pushed ? State::asleep : State::silent, quiet_from, std::nullopt};
  }
  if (plan_.source == Source::pushed) return {State::asleep, changed_, std::nullopt};
  if (under_way_) {
    const MonoTime quiet_from = opened_at_ + silent_threshold();
    if (opened_ && !overtaken_ && now >= quiet_from) return {State::silent, quiet_from, std::nullopt};
    return {State::connecting, changed_, std::nullopt};
  }
  if (retry_at_) {
    const Next due = next(now);
    return {State::waiting, changed_, due.order == Order::wait ? due.until : *retry_at_};
  }
  return {State::connecting, changed_, std::nullopt};
}

}  // namespace rookery::camera
