// The faults of real boards, each switchable at run time and seeded, and the truth of when each was on.
#pragma once

#include <array>
#include <cstdint>
#include <mutex>
#include <optional>
#include <random>
#include <string_view>
#include <vector>

#include "sim/types.h"

namespace rookery::sim {

// `strength` means what the comment says; its default is in default_strength().
enum class Fault : std::uint8_t {
  truncated,       // JPEG cut off, no EOI; part kept 0–1 (0.6)
  no_soi,          // JPEG without its first two bytes
  grey_fill,       // scan cut short but EOI present, decoders fill with grey; part kept 0–1 (0.5)
  green_band,      // a green band at the bottom; part of the height 0–1 (0.25)
  stall,           // nothing is sent for that many seconds (3), then it goes on
  freeze,          // nothing is sent or answered any more until power is cycled; sockets stay open
  reset,           // connections are reset (RST), once per switching on
  slow_radio,      // token bucket with loss bursts; kbit/s (400)
  supply_sag,      // the supply falls: the picture dims; depth 0–1 (0.5)
  brown_out,       // the board resets: gone for that many seconds (2.5), then boots anew, exposure settling
  mains_bands,     // lamp flicker rolls through the picture; modulation 0–1 (0.2)
  blur,            // lens out of focus; blur radius in pixels at 640 wide, 1–8 (3)
  knocked,         // the mount was knocked; shift in pixels at 640 wide (24)
  hot,             // sensor noise of a hot board; standard deviation in luma steps (9)
  size_change,     // frames come at half the width and height
  html,            // the stream and still answer with a page instead of a picture
  huge_length,     // a part declares a Content-Length of 10 GB
  endless_header,  // the response header never ends
  slow_loris,      // bytes trickle; bytes a second (20)
  count_,
};

inline constexpr std::size_t kFaultCount = static_cast<std::size_t>(Fault::count_);

// "truncated", "no-soi", "supply-sag", …
std::string_view name_of(Fault fault);
// The fault of that name; none when there is no such.
std::optional<Fault> fault_named(std::string_view name);
double default_strength(Fault fault);

// Which faults are on, with their strengths. immutable once handed out.
class ActiveFaults {
 public:
  bool has(Fault fault) const { return strength_[index(fault)].has_value(); }
  // The strength, or `otherwise` when it is off.
  double strength(Fault fault, double otherwise = 0) const {
    return strength_[index(fault)].value_or(otherwise);
  }
  void set(Fault fault, double strength) { strength_[index(fault)] = strength; }
  // True when any fault is on that changes the picture itself (not the bytes, not the wire).
  bool changes_picture() const;

 private:
  static std::size_t index(Fault fault) { return static_cast<std::size_t>(fault); }
  std::array<std::optional<double>, kFaultCount> strength_{};
};

// The switchboard of one board. any-thread.
class Faults {
 public:
  explicit Faults(std::uint64_t seed = 1);

  // On until turned off.
  void turn_on(Fault fault);
  void turn_on(Fault fault, double strength);
  void turn_off(Fault fault);
  // On for one step (one frame or one request), then off.
  void once(Fault fault);
  void once(Fault fault, double strength);
  // On from `from` after the first step, for `length`; again every `period` if that is not zero.
  void schedule(Fault fault, SceneTime from, SceneTime length, double strength, SceneTime period = {});
  // On at any step with this probability (0–1), each time for one step. Seeded: the same seed and the same
  // number of steps give the same faults.
  void at_random(Fault fault, double probability, double strength);

  // Called by the board once a frame and once a request: what is on at `now`.
  ActiveFaults step(base::WallTime now);
  // What is on at `now` without taking a step: one-time and random faults do not count. Called by the board
  // ten times a second, so that the truth is right while nobody watches.
  ActiveFaults look(base::WallTime now);
  // Called when a one-time fault (brown_out, reset) has been acted on: it is off until switched on again.
  void done(Fault fault, base::WallTime now);

  // Called by the board for what happens to it as a whole: a stall, a freeze, a reset, being without power.
  // `ended` is given what `began` returned.
  std::size_t began(std::string_view what, double strength, base::WallTime now);
  void ended(std::size_t event, base::WallTime now);

  // Every span in which a fault was on, in order of their starts; what is on has end = the last call. A
  // scheduled fault has its scheduled moments; one switched by hand is known to the next step or look; of a
  // stall, freeze, reset or brown-out it is said when the board suffered it, not when it was asked for.
  std::vector<TruthEvent> truth() const;

 private:
  struct Rule {
    Fault fault{};
    SceneTime from{};
    SceneTime length{};
    SceneTime period{};
    double strength = 0;
    std::int64_t spent = -1;  // the last repeat that done() ended early
  };
  struct Chance {
    Fault fault{};
    double probability = 0;
    double strength = 0;
  };
  // A fault that is on for a while: since when, and until when if that is known.
  struct Steady {
    double strength = 0;
    base::WallTime from;
    std::optional<base::WallTime> to;
  };
  using SteadyFaults = std::array<std::optional<Steady>, kFaultCount>;
  SteadyFaults steady_at(base::WallTime now) const;
  void record_steady(const SteadyFaults& steady, base::WallTime now);
  void record_single(const ActiveFaults& active, const SteadyFaults& steady, base::WallTime now);
  void see(base::WallTime now);

  mutable std::mutex mutex_;
  std::mt19937_64 random_;
  std::array<std::optional<double>, kFaultCount> manual_{};
  std::array<std::optional<double>, kFaultCount> single_{};
  std::vector<Rule> rules_;
  std::vector<Chance> chances_;
  std::optional<base::WallTime> began_;
  base::WallTime last_{};  // the last call
  struct Event {
    TruthEvent said;
    bool open = true;  // its end is not known yet
  };
  struct OpenSteady {
    std::size_t event = 0;
    Steady was;
  };
  std::array<std::optional<OpenSteady>, kFaultCount> open_{};
  std::array<std::optional<std::size_t>, kFaultCount> open_single_{};
  std::vector<Event> truth_;
};

// Damages encoded pictures: truncated, no_soi, grey_fill. The bytes themselves when none is on.
Bytes damage_bytes(const Bytes& jpeg, const ActiveFaults& active);

// A slow radio: a token bucket of one send window with bursts of loss. Pure: the caller keeps the clock.
// strand-bound.
class Radio {
 public:
  Radio(std::uint64_t seed, double kbit_per_second);
  // How long `bytes` have to wait when they are sent at `now`. Bursts of loss (every 1 to 8 s, 0.2 to 1.5 s
  // long) hold everything back.
  base::Microseconds delay_for(std::size_t bytes, base::MonoTime now);
  void set_rate(double kbit_per_second) { bytes_per_second_ = kbit_per_second * 125; }

 private:
  static constexpr double kWindowBytes = 5744;  // what a board's network stack has under way at most
  std::mt19937_64 random_;
  double bytes_per_second_;
  double tokens_ = kWindowBytes;
  std::optional<base::MonoTime> last_;
  base::MonoTime next_loss_{};
  base::MonoTime loss_ends_{};
};

}  // namespace rookery::sim
