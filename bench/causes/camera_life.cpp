#include "bench/causes/camera_life.h"

#include <algorithm>
#include <cmath>
#include <random>
#include <utility>

namespace rookery::bench {

using camera::AttemptEnd;
using camera::Cause;
using camera::CauseKind;
using camera::ProbeAnswer;
using camera::ProbeKind;

namespace {

constexpr double kStep_s = 0.02;
// The station's own numbers: camera/pull.h, camera/gap_probe.h.
constexpr double kSilence_s = 10;
constexpr double kOpen_s = 5;
constexpr double kKeepAliveIdle_s = 2;
constexpr double kKeepAliveEvery_s = 5;
constexpr double kProbeEvery_s = 5;
constexpr double kFruitless_s = 30;
constexpr double kDay_s = 86400;
constexpr double kNever = 1e18;
constexpr double kSegment_bytes = 1436;  // a quarter of a board's window of 5744 bytes (BOARDS 2)

base::MonoTime mono(double at) {
  return base::MonoTime(std::chrono::nanoseconds(static_cast<std::int64_t>(at * 1e9)));
}
base::Microseconds micros(double s) { return base::Microseconds(static_cast<std::int64_t>(s * 1e6)); }

class Dice {
 public:
  Dice(std::uint64_t seed, bool held_out) : random_(seed), held_out_(held_out) {}
  double uniform(double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random_);
  }
  bool chance(double p) { return uniform(0, 1) < p; }
  int count(int low, int high) { return std::uniform_int_distribution<int>(low, high)(random_); }
  // A parameter: even in the logarithm between low and high, or up to 1.8 times beyond either.
  double span(double low, double high) {
    if (held_out_) {
      const bool below = chance(0.5);
      high = below ? low : high * 1.8;
      low = below ? low / 1.8 : high / 1.8;
    }
    return low * std::pow(high / low, uniform(0, 1));
  }
  double normal(double mean, double deviation) {
    return std::normal_distribution<double>(mean, deviation)(random_);
  }
  double exponential(double mean) { return std::exponential_distribution<double>(1 / mean)(random_); }

 private:
  std::mt19937_64 random_;
  bool held_out_;
};

enum class What : std::uint8_t {
  dead,          // without power; boots at the end
  frozen,        // nothing runs, nothing answers; sockets stay in its memory
  app_hung,      // the network stack answers, the program does not
  loss,          // of packets, `value` of them
  ap_down,       // nothing gets through, for all cameras of this network
  paused,        // the station does not get to run
  other_viewer,  // somebody else takes the one stream as soon as it is free
  sensor_none,   // no pictures from the sensor: the stream is ended, new ones fail
  sensor_bad,    // `value` of the pictures are broken
  elsewhere,     // the board has another address, the station asks at the old one
  usurped,       // another machine answers at the board's address
  closes,        // the board ends the stream by itself, once
  noisy,         // pictures grow by `value`: a hot sensor
};

struct Span {
  What what{};
  double from = 0;
  double to = 0;
  double value = 1;
};

struct Fault {
  double from = 0;
  double to = 0;
  std::optional<Cause> cause;
  std::optional<Cause> second;
  CauseKind kind = CauseKind::hiccup;
};

// The one camera and all round it.
class Life {
 public:
  Life(const LifeOptions& options)
      : dice_(options.seed * 7919 + (options.held_out ? 104729 : 0), options.held_out),
        faults_(options.faults) {
    fps_ = dice_.span(4, 15);  // BOARDS 2: 4 to 34, mostly 6 to 13
    bytes_ = dice_.span(9e3, 60e3);
    stamped_ = dice_.chance(0.8);  // not all programs stamp (BOARDS 1)
    ramp_ = dice_.chance(0.8) ? dice_.span(15, 70) : dice_.uniform(0, 8);  // first pictures dark or green (3)
    ramp_s_ = dice_.span(0.8, 4);
    boot_s_ = dice_.span(1.6, 5);            // start-up and joining the network (from memory)
    listen_s_ = dice_.span(0.1, 0.8);        // network up, server not yet
    send_timeout_s_ = dice_.span(4.5, 5.5);  // 5 s (BOARDS 1)
    aborts_ = dice_.chance(0.4);             // a viewer that stalls is reset rather than closed
    rtt_s_ = dice_.span(0.004, 0.020);       // 6 to 10 ms (BOARDS 2)
    base_loss_ = dice_.span(0.0005, 0.008);
    echo_allowed_ = dice_.chance(0.6);
    near_ = dice_.chance(0.1) ? 0 : dice_.count(1, 11);
    far_ = dice_.chance(0.7) ? 0 : dice_.count(1, 6);
    buffer_bytes_ = dice_.span(0.4e6, 4e6);
    boot_at_ = -dice_.span(600, 3e5);
    mode_ = dice_.uniform(0, 1);
    period_s_ = dice_.span(3, 60) * 3600;
    minute_of_day_ = dice_.uniform(0, kDay_s);
    shared_supply_ = dice_.chance(0.1);
    edge_neighbour_ = dice_.chance(0.2);
  }

  std::vector<LivedDropout> run() {
    const int episodes = faults_.empty() ? 6 : dice_.count(6, 12);
    wall_less_mono_ = dice_.uniform(0, kDay_s);
    begin_stream();
    double quiet = quiet_time();
    for (int n = 0; n < episodes; ++n) {
      const double at = t_ + quiet;
      const Fault fault =
          faults_.empty()
              ? hiccup(at)
              : plan(faults_[static_cast<std::size_t>(dice_.count(0, static_cast<int>(faults_.size()) - 1))],
                     at);
      happened_.push_back(fault);
      advance(fault.to + dice_.uniform(8, 12), fault.to + 400);
      spans_.clear();
      quiet = fresh_next_ ? dice_.uniform(1, 4) : quiet_time();
      if (!fresh_next_) jump();
      fresh_next_ = false;
    }
    return std::move(out_);
  }

 private:
  // Heat shows in the pictures for minutes before it stops anything.
  double quiet_time() {
    const bool heats = mode_ > 0.8 && std::ranges::find(faults_, Cause::hang) != faults_.end();
    return heats ? dice_.uniform(950, 1150) : dice_.uniform(90, 200);
  }

  // --- what goes wrong, and why so ---

  // What counts as healthy is no parameter: nothing here lasts 3 s.
  Fault hiccup(double at) {
    const double kind = dice_.uniform(0, 1);
    if (kind < 0.45) {  // an access point that looks round the channels, a neighbour's burst
      add(What::loss, at, dice_.uniform(0.3, 2.6), 1);
    } else if (kind < 0.65) {
      add(What::closes, at, 0.1);
    } else if (kind < 0.8) {
      add(What::paused, at, dice_.uniform(0.05, 0.5));
    } else {
      add(What::sensor_bad, at, dice_.span(0.05, 0.3));
    }
    return {at - 1, at + 4, std::nullopt, std::nullopt};
  }

  Fault plan(Cause cause, double at) {
    weak_radio_ = faults_.size() > 1 && cause != Cause::radio &&
                  std::ranges::find(faults_, Cause::radio) != faults_.end() && dice_.chance(0.4);
    if (weak_radio_) add(What::loss, at - 40, 120, dice_.span(0.03, 0.08));
    switch (cause) {
      case Cause::supply:
        return supply(at);
      case Cause::radio:
        return radio(at);
      case Cause::hang:
        return hang(at);
      case Cause::network:
        return network(at);
      case Cause::viewer:
        return viewer(at);
      case Cause::sensor:
        return sensor(at);
      case Cause::station:
        return station(at);
    }
    return hiccup(at);
  }

  Fault supply(double at) {
    double end = at;
    CauseKind kind = CauseKind::switched_off;
    if (mode_ < 0.12) {  // a mains timer or a lamp's switch: gone for long, the same time each day
      to_time_of_day(at);
      end = add(What::dead, at, dice_.span(300, 3000));
    } else if (dice_.chance(0.15)) {  // a loose plug, a bank that switches off
      end = add(What::dead, at, dice_.span(8, 400));
    } else {
      // A weak supply falls when the radio draws its peak. Starting draws it again, so it may fall several
      // times.
      kind = CauseKind::brown_out;
      end = add(What::dead, at, dice_.span(0.05, 1));
      while (dice_.chance(0.3)) end = add(What::dead, end + dice_.span(0.3, 1.4), dice_.span(0.05, 0.6));
      if (dice_.chance(0.35)) fresh_next_ = true;
    }
    if (dice_.chance(0.3)) add(What::sensor_bad, at - dice_.span(0.3, 3), 3, 0.3);  // ripples
    near_share_ = shared_supply_ ? 1.0 / std::max(1, near_) : 0;
    return {at, end, Cause::supply, weak_radio_ ? std::optional(Cause::radio) : std::nullopt, kind};
  }

  Fault radio(double at) {
    if (dice_.chance(0.75)) {  // it gets worse before it fails: someone walks in between, a door moves
      const double lead = dice_.span(5, 25);
      for (int n = 0; n < 5; ++n) add(What::loss, at - lead + n * lead / 5, lead / 5, 0.04 + 0.05 * n);
    }
    double end = at;
    const int fades = dice_.count(1, 3);
    for (int n = 0; n < fades; ++n) {
      const double deep = dice_.span(2.5, 25);
      add(What::loss, end, deep, dice_.chance(0.6) ? dice_.uniform(0.93, 1.0) : 1.0);
      end += deep;
      if (n + 1 < fades) {
        const double between = dice_.span(0.5, 4);
        add(What::loss, end, between, dice_.uniform(0.1, 0.5));
        end += between;
      }
    }
    add(What::loss, end, dice_.span(3, 15), dice_.uniform(0.03, 0.15));
    near_share_ = edge_neighbour_ ? 1.0 / std::max(1, near_) : 0;
    return {at, end, Cause::radio, std::nullopt, CauseKind::fade};
  }

  Fault hang(double at) {
    Fault fault{at, at, Cause::hang, weak_radio_ ? std::optional(Cause::radio) : std::nullopt};
    if (mode_ > 0.8) {  // heat: noise grows for minutes, pictures break, then it stops
      add(What::noisy, at - 900, 1200, dice_.span(0.09, 0.3));
      add(What::sensor_bad, at - 20, 20, dice_.span(0.01, 0.06));
    }
    if (mode_ < 0.3) {  // a task hangs, a watchdog restarts the board
      fault.kind = CauseKind::watchdog;
      const double wait = dice_.span(5, 60);
      add(What::app_hung, at, wait);
      fault.to = add(What::dead, at + wait, 0.05);
    } else if (mode_ < 0.5) {  // it frees itself
      fault.kind = CauseKind::frees_itself;
      fault.to = add(What::app_hung, at, dice_.span(3, 45));
    } else if (mode_ < 0.62) {  // all of it, until somebody cycles the power
      fault.kind = CauseKind::frozen;
      const double wait = dice_.span(60, 2500);
      add(What::frozen, at, wait);
      fault.to = add(What::dead, at + wait, dice_.span(2, 10));
    } else if (mode_ < 0.78) {  // memory leaks: it panics after the same time again and again
      fault.kind = CauseKind::leak;
      if (faults_.size() > 1) boot_at_ = at - period_s_ * (1 + dice_.normal(0, 0.04));
      fault.to = add(What::dead, at, 0.1);
    } else {  // the program hangs until somebody cycles the power
      fault.kind = CauseKind::until_cycled;
      const double wait = dice_.span(60, 2500);
      add(What::app_hung, at, wait);
      fault.to = add(What::dead, at + wait, dice_.span(2, 10));
    }
    return fault;
  }

  Fault network(double at) {
    Fault fault{at, at, Cause::network, weak_radio_ ? std::optional(Cause::radio) : std::nullopt};
    if (mode_ < 0.5) {  // the access point restarts or loses its uplink
      fault.kind = CauseKind::access_point;
      fault.to = add(What::ap_down, at, dice_.span(5, 120));
      near_share_ = dice_.span(0.8, 0.98);
    } else if (mode_ < 0.8) {  // another address after a lease ran out
      fault.kind = CauseKind::moved;
      fault.to = add(What::elsewhere, at, dice_.span(10, 400));
      moved_ = true;
    } else {  // two machines with one address
      fault.kind = CauseKind::conflict;
      fault.to = add(What::usurped, at, dice_.span(10, 400));
    }
    return fault;
  }

  // Somebody else gets in when our connection breaks for a moment.
  Fault viewer(double at) {
    Fault fault{at, at, Cause::viewer, std::nullopt, CauseKind::viewer};
    const double why = dice_.uniform(0, 1);
    double from = at;
    if (why < 0.4) {
      from = add(What::loss, at, dice_.span(6, 9), 1);
      fault.second = Cause::radio;
    } else if (why < 0.75) {
      add(What::closes, at, 0.1);
    } else {
      from = add(What::dead, at, dice_.span(0.05, 1));
      fault.second = Cause::supply;
    }
    fault.to = std::max(from + 8, at + dice_.span(25, 1200));
    add(What::other_viewer, at - 1, fault.to - at + 1);
    return fault;
  }

  Fault sensor(double at) {
    Fault fault{at, at, Cause::sensor, weak_radio_ ? std::optional(Cause::radio) : std::nullopt};
    if (dice_.chance(0.7)) add(What::sensor_bad, at - dice_.span(3, 25), 30, dice_.span(0.03, 0.4));
    fault.kind = mode_ < 0.75 ? CauseKind::no_picture : CauseKind::bad_picture;
    if (mode_ < 0.75) {
      const double wait = dice_.span(6, 600);
      fault.to = add(What::sensor_none, at, wait);
      if (dice_.chance(0.3)) fault.to = add(What::dead, at + wait, dice_.span(2, 8));
    } else {
      fault.to = add(What::sensor_bad, at, dice_.span(20, 400), 1);
    }
    return fault;
  }

  Fault station(double at) {
    const double wait = dice_.span(2.6, 25);
    add(What::paused, at, wait);
    while (dice_.chance(0.3)) add(What::paused, at + wait + dice_.span(0.5, 3), dice_.span(0.6, 5));
    near_share_ = 0.97;
    far_share_ = 0.97;
    return {at, at + wait, Cause::station, std::nullopt, CauseKind::overload};
  }

  double add(What what, double from, double length, double value = 1) {
    spans_.push_back({what, from, from + length, value});
    return from + length;
  }

  // --- the world at a moment ---

  const Span* on(What what) const {
    for (const Span& span : spans_) {
      if (span.what == what && t_ >= span.from && t_ < span.to) return &span;
    }
    return nullptr;
  }
  double loss() const {
    double most = base_loss_;
    for (const Span& span : spans_) {
      if (span.what == What::loss && t_ >= span.from && t_ < span.to) most = std::max(most, span.value);
    }
    return on(What::ap_down) != nullptr ? 1 : most;
  }
  bool runs() const { return on(What::dead) == nullptr && on(What::frozen) == nullptr; }
  bool stack_up() const { return runs() && t_ >= boot_at_ + boot_s_; }
  bool listens() const { return stack_up() && t_ >= boot_at_ + boot_s_ + listen_s_; }
  // A packet there and its answer back.
  bool passes() { return !dice_.chance(std::min(1.0, 2 * loss())); }

  enum class Found : std::uint8_t { nobody, board, stranger };
  Found at_address() const {
    if (on(What::ap_down) != nullptr) return Found::nobody;
    if (on(What::usurped) != nullptr) return Found::stranger;
    if (on(What::elsewhere) != nullptr || !stack_up()) return Found::nobody;
    return Found::board;
  }

  // --- time ---

  double wall() const { return t_ + wall_less_mono_; }

  // Nothing happens between two faults for hours; only the last minutes of it are lived through.
  void jump() {
    const bool leaks = mode_ >= 0.62 && mode_ < 0.78 && faults_.size() == 1 && faults_.front() == Cause::hang;
    const double skip = leaks ? period_s_ * (1 + dice_.normal(0, 0.04)) : dice_.exponential(4 * 3600);
    wall_less_mono_ += skip;
    // Uptime goes on with it.
    boot_at_ -= skip;
  }
  void to_time_of_day(double at) {
    const double now = std::fmod(at + wall_less_mono_, kDay_s);
    const double skip = std::fmod(minute_of_day_ + dice_.uniform(-60, 60) - now + 2 * kDay_s, kDay_s);
    wall_less_mono_ += skip;
    boot_at_ -= skip;
  }

  void advance(double until, double most) {
    while (t_ < until || (t_ < most && !calm())) step();
    near_share_ = far_share_ = 0;
    moved_ = false;
  }
  bool calm() const { return conn_.open && !recorder_.gap_since() && quiet_; }

  void step() {
    t_ += kStep_s;
    const bool dead = on(What::dead) != nullptr;
    if (was_dead_ && !dead) boot_at_ = t_;
    if (dead && conn_.board_knows) conn_.board_knows = conn_.board_streams = false;
    was_dead_ = dead;
    board();
    if (on(What::paused) != nullptr) {
      was_paused_ = true;
      return;
    }
    read();
    pull();
    tick();
    was_paused_ = false;
  }

  // --- the board's side of the stream ---

  void board() {
    if (!conn_.open && !conn_.closing) return;
    if (!runs() || !conn_.board_streams || on(What::app_hung) != nullptr) return;
    if (on(What::elsewhere) != nullptr) {
      conn_.at_old_address = true;
      conn_.board_streams = false;
      return;
    }
    // Who has our address answers for a connection that it does not know.
    if (on(What::usurped) != nullptr) {
      finish(AttemptEnd::reset);
      conn_.board_streams = false;
      return;
    }
    // Lost packets come again after the sender's own patience, which doubles; new pictures wait for that.
    if (conn_.stuck_since) {
      if (t_ < conn_.again_at) {
        if (t_ - *conn_.stuck_since > send_timeout_s_) give_up_viewer();
        return;
      }
      if (dice_.chance(std::min(1.0, loss()))) {
        conn_.patience_s = std::min(2 * conn_.patience_s, 20.0);
        conn_.again_at = t_ + conn_.patience_s;
        return;
      }
      arrive(conn_.held_bytes, conn_.held_bad);
      conn_.stuck_since.reset();
      return;
    }
    if (conn_.board_gave_up) {
      if (t_ < conn_.again_at) return;
      if (dice_.chance(std::min(1.0, loss()))) {
        conn_.patience_s = std::min(2 * conn_.patience_s, 20.0);
        conn_.again_at = t_ + conn_.patience_s;
        return;
      }
      finish(aborts_ ? AttemptEnd::reset : AttemptEnd::cut);
      conn_.board_streams = false;
      return;
    }
    if (on(What::closes) != nullptr) {
      finish(dice_.chance(0.5) ? AttemptEnd::closed : AttemptEnd::cut);
      conn_.board_streams = false;
      return;
    }
    if (t_ < conn_.due) return;
    if (on(What::sensor_none) != nullptr) {
      if (t_ > conn_.due + 4) {  // no picture within 4 s: the stream is ended (BOARDS 1)
        finish(dice_.chance(0.7) ? AttemptEnd::cut : AttemptEnd::closed);
        conn_.board_streams = false;
      }
      return;
    }
    conn_.due = std::max(conn_.due + 1 / fps_, t_ - 0.5 / fps_) + dice_.normal(0, 0.004);
    const Span* bad = on(What::sensor_bad);
    const Span* noisy = on(What::noisy);
    const double size = bytes_ * (noisy != nullptr ? 1 + noisy->value : 1) * (1 + dice_.normal(0, 0.02));
    const bool is_bad = bad != nullptr && dice_.chance(bad->value);
    const double segments = size / kSegment_bytes;
    conn_.segments += segments;
    const double p = loss();
    conn_.out_of_order += p < 0.9 ? segments * std::min(0.5, p) * dice_.uniform(0.5, 1.2) : 0;
    // With a window of four packets a lost one often waits for the time-out.
    const double stalls = 1 - std::pow(1 - std::min(0.999, p), segments * 0.25);
    if (conn_.closed_window || dice_.chance(stalls)) {
      conn_.stuck_since = t_;
      conn_.patience_s = conn_.closed_window ? 0.5 : dice_.uniform(0.25, 0.7);
      conn_.again_at = t_ + conn_.patience_s;
      conn_.held_bytes = size;
      conn_.held_bad = is_bad;
      return;
    }
    arrive(size, is_bad);
  }

  void give_up_viewer() {
    conn_.board_gave_up = true;
    conn_.stuck_since.reset();
    conn_.again_at = t_ + conn_.patience_s;
  }

  // What reaches this computer lies in the kernel until it is read.
  struct Waiting {
    double bytes = 0;
    bool bad = false;
    double stamp_s = 0;
    double luma = 0;
    std::optional<AttemptEnd> end;
  };
  void arrive(double bytes, bool bad) {
    const double since = t_ - boot_at_;
    const double luma =
        110 - ramp_ * std::exp(-std::max(0.0, t_ - (boot_at_ + boot_s_ + listen_s_)) / ramp_s_);
    waiting_.push_back({bytes, bad, since, luma, std::nullopt});
    waiting_bytes_ += bytes;
    conn_.closed_window = waiting_bytes_ > buffer_bytes_;
    conn_.last_heard = t_;
  }
  void finish(AttemptEnd how) { waiting_.push_back({0, false, 0, 0, how}); }

  // --- the station ---

  void begin_stream() {
    conn_ = Conn();
    conn_.open = conn_.board_knows = conn_.board_streams = true;
    conn_.number = ++connections_;
    conn_.due = t_ + 1 / fps_;
    conn_.last_read = conn_.last_heard = conn_.began = t_;
    conn_.keep_alive_at = t_ + kKeepAliveIdle_s;
  }

  void read() {
    std::vector<Waiting> all;
    all.swap(waiting_);
    waiting_bytes_ = 0;
    conn_.closed_window = false;
    for (const Waiting& one : all) {
      if (!conn_.open) return;
      if (one.end) return end_attempt(*one.end);
      conn_.last_read = t_;
      conn_.keep_alive_at = t_ + kKeepAliveIdle_s;
      if (one.bad) {
        recorder_.broken(mono(t_));
        if (t_ - conn_.last_good > kFruitless_s && t_ - conn_.began > kFruitless_s)
          return end_attempt(AttemptEnd::no_pictures);
        continue;
      }
      conn_.last_good = t_;
      if (t_ - conn_.began > 5) failures_ = 0;
      camera::PictureSeen seen;
      seen.at = mono(t_);
      seen.bytes =
          static_cast<std::uint32_t>(one.bytes * (ramp_ > 10 ? 1 - 0.3 * (110 - one.luma) / 110 : 1));
      if (stamped_) seen.stamp = micros(one.stamp_s);
      seen.luma = static_cast<float>(one.luma + dice_.normal(0, 1));
      seen.connection = conn_.number;
      recorder_.picture(seen);
    }
  }

  void end_attempt(AttemptEnd how) {
    camera::AttemptSeen seen;
    seen.at = mono(t_);
    seen.how = how;
    seen.had_pictures = conn_.open;
    if (how == AttemptEnd::error_status) seen.status = 500;
    recorder_.ended(seen);
    conn_.open = false;
    waiting_.clear();
    waiting_bytes_ = 0;
    const double longest = std::min(30.0, 0.5 * std::pow(2, failures_));
    ++failures_;
    retry_at_ = t_ + dice_.uniform(longest / 2, longest);
    attempt_.reset();
  }

  void pull() {
    if (conn_.open) return keep_alive();
    if (!attempt_) {
      if (t_ < retry_at_) return;
      attempt_ = Attempt();
      attempt_->began = t_;
    }
    Attempt& attempt = *attempt_;
    const double age = t_ - attempt.began;
    if (!attempt.connected) {
      // The hand-shake is tried at 0, 1 and 3 s (RFC 6298).
      const double next = attempt.tries == 0 ? 0 : attempt.tries == 1 ? 1 : attempt.tries == 2 ? 3 : kNever;
      if (age >= next) {
        ++attempt.tries;
        const Found found = at_address();
        if (found != Found::nobody && passes()) {
          if (found == Found::stranger && dice_.chance(0.6)) return end_attempt(AttemptEnd::refused);
          if (found == Found::board && !listens()) return end_attempt(AttemptEnd::refused);
          attempt.connected = true;
          attempt.stranger = found == Found::stranger;
          attempt.answers_at = t_ + rtt_s_ + dice_.uniform(0.02, 0.2);
          return;
        }
      }
      // Nobody answers for the address on this network: 3 s (Linux), else our own limit.
      if (age > (at_address() == Found::nobody && runs() ? 3.1 : kOpen_s))
        return end_attempt(AttemptEnd::no_answer);
      return;
    }
    if (age > kOpen_s) return end_attempt(AttemptEnd::unheard);
    if (t_ < attempt.answers_at) return;
    if (attempt.stranger) return end_attempt(AttemptEnd::no_pictures);
    if (!listens() || on(What::app_hung) != nullptr || on(What::other_viewer) != nullptr) {
      viewer_was_there_ |= on(What::other_viewer) != nullptr;
      return;
    }
    if (dice_.chance(std::min(1.0, loss()))) {
      attempt.answers_at = t_ + 0.5;
      return;
    }
    if (on(What::sensor_none) != nullptr) {
      if (t_ < attempt.answers_at + 0.2 && mode_ < 0.25) return;
      return end_attempt(mode_ < 0.25 ? AttemptEnd::error_status : AttemptEnd::closed_unheard);
    }
    attempt_.reset();
    begin_stream();
  }

  void keep_alive() {
    if (t_ - conn_.last_read > kSilence_s) return end_attempt(AttemptEnd::silence);
    if (t_ < conn_.keep_alive_at) return;
    conn_.keep_alive_at = t_ + kKeepAliveEvery_s;
    const Found found = at_address();
    if (found == Found::nobody || conn_.at_old_address || !passes()) return;
    if (found == Found::stranger || !conn_.board_knows) return end_attempt(AttemptEnd::reset);
    conn_.last_heard = t_;
  }

  void tick() {
    if (was_paused_ && t_ - tick_at_ > 0.06) {
      camera::LateSeen late;
      late.at = mono(t_);
      late.by = micros(t_ - tick_at_);
      recorder_.late(late);
    }
    probe();
    if (t_ < tick_at_) return;
    tick_at_ = std::max(tick_at_ + 1, t_ + 0.01);
    if (conn_.open) {
      camera::LinkSample sample;
      sample.at = mono(t_);
      const double p = std::min(0.9, loss());
      // While nothing comes back there is nothing to measure.
      if (p < 0.9) smooth_rtt_ += (rtt_s_ * (1 + 12 * p) * dice_.uniform(0.8, 1.3) - smooth_rtt_) / 4;
      sample.round_trip = micros(smooth_rtt_);
      sample.since_last_ack = micros(t_ - conn_.last_heard);
      sample.segments = static_cast<std::uint32_t>(conn_.segments);
      sample.out_of_order = static_cast<std::uint32_t>(conn_.out_of_order);
      sample.connection = conn_.number;
      recorder_.link(sample);
    }
    const base::WallTime now(micros(wall()));
    recorder_.look(mono(t_), now);
    if (moved_ && on(What::elsewhere) == nullptr) recorder_.moved(mono(t_));
    quiet_ = true;
    if (auto seen = recorder_.take(mono(t_))) {
      if (!seen->back) {
        quiet_ = false;
        return;  // the first word; the verdict that counts is the last
      }
      tell(*seen);
    }
    quiet_ = t_ - last_told_ > 1;
  }

  void tell(camera::DropoutSeen seen) {
    last_told_ = t_;
    seen.others = others();
    const double began = std::chrono::duration<double>(seen.began.time_since_epoch()).count();
    LivedDropout lived;
    for (const Fault& fault : happened_) {
      if (began > fault.from - 30 && began < fault.to + 25) {
        lived.truth = fault.cause;
        lived.kind = fault.kind;
        lived.second = fault.second;
      }
    }
    // Somebody else who never got in kept nobody out.
    if (lived.truth == Cause::viewer && !viewer_was_there_) {
      lived.truth = std::exchange(lived.second, std::nullopt);
      lived.kind = lived.truth == Cause::radio    ? CauseKind::fade
                   : lived.truth == Cause::supply ? CauseKind::brown_out
                                                  : CauseKind::hiccup;
    }
    viewer_was_there_ = false;
    lived.seen = std::move(seen);
    out_.push_back(std::move(lived));
  }

  camera::OthersSeen others() {
    camera::OthersSeen seen;
    seen.near_live = near_;
    seen.far_live = far_;
    for (int n = 0; n < near_; ++n) seen.near_gaps += dice_.chance(near_share_ + 0.004) ? 1 : 0;
    for (int n = 0; n < far_; ++n) seen.far_gaps += dice_.chance(far_share_ + 0.004) ? 1 : 0;
    return seen;
  }

  void probe() {
    const auto since = recorder_.gap_since();
    if (!since || mono(t_) - *since < std::chrono::milliseconds(2000)) {
      return;
    }
    for (const ProbeKind kind : {ProbeKind::connect, ProbeKind::echo}) {
      double& due = kind == ProbeKind::connect ? connect_due_ : echo_due_;
      if (t_ < due) continue;
      // A new connection is asked for between attempts only when none is being made anyway.
      due = t_ + kProbeEvery_s;
      camera::ProbeSeen seen;
      seen.at = mono(t_);
      seen.kind = kind;
      const Found found = at_address();
      if (kind == ProbeKind::echo && !echo_allowed_) {
        seen.answer = ProbeAnswer::not_allowed;
      } else if (found == Found::nobody || (!passes() && (kind == ProbeKind::echo || !passes()))) {
        seen.answer = ProbeAnswer::nothing;
      } else if (kind == ProbeKind::connect && found == Found::board && !listens()) {
        seen.answer = ProbeAnswer::refused;
      } else if (kind == ProbeKind::connect && found == Found::stranger) {
        seen.answer = dice_.chance(0.6) ? ProbeAnswer::refused : ProbeAnswer::answered;
      } else {
        seen.answer = ProbeAnswer::answered;
      }
      recorder_.probe(seen);
    }
  }

  struct Conn {
    bool open = false;
    bool closing = false;
    bool board_knows = false;
    bool board_streams = false;
    bool board_gave_up = false;
    bool closed_window = false;
    bool at_old_address = false;
    std::uint64_t number = 0;
    double began = 0, due = 0, last_read = 0, last_good = 0, last_heard = 0, keep_alive_at = 0;
    std::optional<double> stuck_since;
    double again_at = 0, patience_s = 0.5, held_bytes = 0;
    bool held_bad = false;
    double segments = 0, out_of_order = 0;
  };
  struct Attempt {
    double began = 0, answers_at = 0;
    int tries = 0;
    bool connected = false;
    bool stranger = false;
  };

  Dice dice_;
  std::vector<Cause> faults_;
  double fps_ = 10, bytes_ = 30e3, ramp_ = 40, ramp_s_ = 2, boot_s_ = 3, listen_s_ = 0.3, send_timeout_s_ = 5;
  double rtt_s_ = 0.008, base_loss_ = 0.002, buffer_bytes_ = 1e6, mode_ = 0, period_s_ = 0,
         minute_of_day_ = 0;
  bool stamped_ = true, aborts_ = false, echo_allowed_ = true, shared_supply_ = false,
       edge_neighbour_ = false;
  bool viewer_was_there_ = false;
  bool weak_radio_ = false, fresh_next_ = false, moved_ = false;
  int near_ = 3, far_ = 0;
  double near_share_ = 0, far_share_ = 0;

  double t_ = 0, wall_less_mono_ = 0, boot_at_ = 0;
  bool was_dead_ = false, was_paused_ = false, quiet_ = true;
  std::vector<Span> spans_;
  std::vector<Fault> happened_;
  Conn conn_;
  std::optional<Attempt> attempt_;
  std::uint64_t connections_ = 0;
  int failures_ = 0;
  double retry_at_ = 0, tick_at_ = 1, connect_due_ = 0, echo_due_ = 0, smooth_rtt_ = 0.008, last_told_ = -100;
  std::vector<Waiting> waiting_;
  double waiting_bytes_ = 0;
  camera::GapRecorder recorder_;
  std::vector<LivedDropout> out_;
};

}  // namespace

std::vector<LivedDropout> live(const LifeOptions& options) { return Life(options).run(); }

}  // namespace rookery::bench
