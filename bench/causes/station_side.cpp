#include "bench/causes/station_side.h"

#include <cmath>
#include <utility>

namespace rookery::bench {

using camera::AttemptEnd;
using camera::ProbeAnswer;
using camera::ProbeKind;

namespace {

// The station's own numbers: camera/pull.h, camera/gap_probe.h.
constexpr double kSilence_s = 10;
constexpr double kOpen_s = 5;
constexpr double kKeepAliveIdle_s = 2;
constexpr double kKeepAliveEvery_s = 5;
constexpr double kProbeEvery_s = 5;
constexpr double kFruitless_s = 30;
constexpr double kNever = 1e18;

}  // namespace

void StationSide::step() {
  read();
  pull();
  tick();
  was_paused_ = false;
}

void StationSide::begin_stream() {
  wire_.conn = Conn();
  wire_.conn.open = wire_.conn.board_knows = wire_.conn.board_streams = true;
  wire_.conn.number = ++connections_;
  wire_.conn.due = world_.t + 1 / world_.fps;
  wire_.conn.last_read = wire_.conn.last_heard = wire_.conn.began = world_.t;
  wire_.conn.keep_alive_at = world_.t + kKeepAliveIdle_s;
}

void StationSide::read() {
  std::vector<Waiting> all;
  all.swap(wire_.waiting);
  wire_.waiting_bytes = 0;
  wire_.conn.closed_window = false;
  for (const Waiting& one : all) {
    if (!wire_.conn.open) return;
    if (one.end) return end_attempt(*one.end);
    wire_.conn.last_read = world_.t;
    wire_.conn.keep_alive_at = world_.t + kKeepAliveIdle_s;
    if (one.bad) {
      recorder_.broken(mono(world_.t));
      if (world_.t - wire_.conn.last_good > kFruitless_s && world_.t - wire_.conn.began > kFruitless_s)
        return end_attempt(AttemptEnd::no_pictures);
      continue;
    }
    wire_.conn.last_good = world_.t;
    if (world_.t - wire_.conn.began > 5) failures_ = 0;
    take_picture(one);
  }
}

void StationSide::take_picture(const Waiting& one) {
  camera::PictureSeen seen;
  seen.at = mono(world_.t);
  seen.bytes =
      static_cast<std::uint32_t>(one.bytes * (world_.ramp > 10 ? 1 - 0.3 * (110 - one.luma) / 110 : 1));
  if (world_.stamped) seen.stamp = micros(one.stamp_s);
  seen.luma = static_cast<float>(one.luma + world_.dice.normal(0, 1));
  seen.connection = wire_.conn.number;
  recorder_.picture(seen);
}

void StationSide::end_attempt(AttemptEnd how) {
  camera::AttemptSeen seen;
  seen.at = mono(world_.t);
  seen.how = how;
  seen.had_pictures = wire_.conn.open;
  if (how == AttemptEnd::error_status) seen.status = 500;
  recorder_.ended(seen);
  wire_.conn.open = false;
  wire_.waiting.clear();
  wire_.waiting_bytes = 0;
  const double longest = std::min(30.0, 0.5 * std::pow(2, failures_));
  ++failures_;
  retry_at_ = world_.t + world_.dice.uniform(longest / 2, longest);
  attempt_.reset();
}

void StationSide::pull() {
  if (wire_.conn.open) return keep_alive();
  if (!attempt_) {
    if (world_.t < retry_at_) return;
    attempt_ = Attempt();
    attempt_->began = world_.t;
  }
  Attempt& attempt = *attempt_;
  const double age = world_.t - attempt.began;
  if (!attempt.connected) {
    knock(attempt, age);
    return;
  }
  if (age > kOpen_s) return end_attempt(AttemptEnd::unheard);
  if (world_.t < attempt.answers_at) return;
  if (attempt.stranger) return end_attempt(AttemptEnd::no_pictures);
  if (!world_.listens() || world_.on(What::app_hung) != nullptr || world_.on(What::other_viewer) != nullptr) {
    world_.viewer_was_there |= world_.on(What::other_viewer) != nullptr;
    return;
  }
  if (world_.dice.chance(std::min(1.0, world_.loss()))) {
    attempt.answers_at = world_.t + 0.5;
    return;
  }
  if (world_.on(What::sensor_none) != nullptr) {
    if (world_.t < attempt.answers_at + 0.2 && world_.mode < 0.25) return;
    return end_attempt(world_.mode < 0.25 ? AttemptEnd::error_status : AttemptEnd::closed_unheard);
  }
  attempt_.reset();
  begin_stream();
}

void StationSide::knock(Attempt& attempt, double age) {
  // The hand-shake is tried at 0, 1 and 3 s (RFC 6298).
  const double next = attempt.tries == 0 ? 0 : attempt.tries == 1 ? 1 : attempt.tries == 2 ? 3 : kNever;
  if (age >= next) {
    ++attempt.tries;
    const World::Found found = world_.at_address();
    if (found != World::Found::nobody && world_.passes()) {
      if (found == World::Found::stranger && world_.dice.chance(0.6)) return end_attempt(AttemptEnd::refused);
      if (found == World::Found::board && !world_.listens()) return end_attempt(AttemptEnd::refused);
      attempt.connected = true;
      attempt.stranger = found == World::Found::stranger;
      attempt.answers_at = world_.t + world_.rtt_s + world_.dice.uniform(0.02, 0.2);
      return;
    }
  }
  // Nobody answers for the address on this network: 3 s (Linux), else our own limit.
  if (age > (world_.at_address() == World::Found::nobody && world_.runs() ? 3.1 : kOpen_s))
    return end_attempt(AttemptEnd::no_answer);
}

void StationSide::keep_alive() {
  if (world_.t - wire_.conn.last_read > kSilence_s) return end_attempt(AttemptEnd::silence);
  if (world_.t < wire_.conn.keep_alive_at) return;
  wire_.conn.keep_alive_at = world_.t + kKeepAliveEvery_s;
  const World::Found found = world_.at_address();
  if (found == World::Found::nobody || wire_.conn.at_old_address || !world_.passes()) return;
  if (found == World::Found::stranger || !wire_.conn.board_knows) return end_attempt(AttemptEnd::reset);
  wire_.conn.last_heard = world_.t;
}

void StationSide::tick() {
  if (was_paused_ && world_.t - tick_at_ > 0.06) {
    camera::LateSeen late;
    late.at = mono(world_.t);
    late.by = micros(world_.t - tick_at_);
    recorder_.late(late);
  }
  probe();
  if (world_.t < tick_at_) return;
  tick_at_ = std::max(tick_at_ + 1, world_.t + 0.01);
  if (wire_.conn.open) {
    sample_link();
  }
  const base::WallTime now(micros(world_.t + world_.wall_less_mono));
  recorder_.look(mono(world_.t), now);
  if (world_.moved && world_.on(What::elsewhere) == nullptr) recorder_.moved(mono(world_.t));
  quiet_ = true;
  if (auto seen = recorder_.take(mono(world_.t))) {
    if (!seen->back) {
      quiet_ = false;
      return;  // the first word; the verdict that counts is the last
    }
    last_told_ = world_.t;
    told_ = std::move(seen);
  }
  quiet_ = world_.t - last_told_ > 1;
}

void StationSide::sample_link() {
  camera::LinkSample sample;
  sample.at = mono(world_.t);
  const double p = std::min(0.9, world_.loss());
  // While nothing comes back there is nothing to measure.
  if (p < 0.9) smooth_rtt_ += (world_.rtt_s * (1 + 12 * p) * world_.dice.uniform(0.8, 1.3) - smooth_rtt_) / 4;
  sample.round_trip = micros(smooth_rtt_);
  sample.since_last_ack = micros(world_.t - wire_.conn.last_heard);
  sample.segments = static_cast<std::uint32_t>(wire_.conn.segments);
  sample.out_of_order = static_cast<std::uint32_t>(wire_.conn.out_of_order);
  sample.connection = wire_.conn.number;
  recorder_.link(sample);
}

void StationSide::probe() {
  const auto since = recorder_.gap_since();
  if (!since || mono(world_.t) - *since < std::chrono::milliseconds(2000)) {
    return;
  }
  for (const ProbeKind kind : {ProbeKind::connect, ProbeKind::echo}) {
    double& due = kind == ProbeKind::connect ? connect_due_ : echo_due_;
    if (world_.t < due) continue;
    // A new connection is asked for between attempts only when none is being made anyway.
    due = world_.t + kProbeEvery_s;
    camera::ProbeSeen seen;
    seen.at = mono(world_.t);
    seen.kind = kind;
    seen.answer = answer_to(kind);
    recorder_.probe(seen);
  }
}

ProbeAnswer StationSide::answer_to(ProbeKind kind) {
  const World::Found found = world_.at_address();
  if (kind == ProbeKind::echo && !world_.echo_allowed) {
    return ProbeAnswer::not_allowed;
  }
  if (found == World::Found::nobody || (!world_.passes() && (kind == ProbeKind::echo || !world_.passes()))) {
    return ProbeAnswer::nothing;
  }
  if (kind == ProbeKind::connect && found == World::Found::board && !world_.listens()) {
    return ProbeAnswer::refused;
  }
  if (kind == ProbeKind::connect && found == World::Found::stranger) {
    return world_.dice.chance(0.6) ? ProbeAnswer::refused : ProbeAnswer::answered;
  }
  return ProbeAnswer::answered;
}

}  // namespace rookery::bench
