// What a make-believe camera's life is made of: its board, its network, the time, and what is the matter now.
#pragma once

#include <algorithm>
#include <chrono>
#include <cstdint>
#include <optional>
#include <vector>

#include "bench/causes/dice.h"
#include "camera/causes.h"

namespace rookery::bench {

inline base::MonoTime mono(double at) {
  return base::MonoTime(std::chrono::nanoseconds(static_cast<std::int64_t>(at * 1e9)));
}
inline base::Microseconds micros(double s) { return base::Microseconds(static_cast<std::int64_t>(s * 1e6)); }

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
  std::optional<camera::Cause> cause;
  std::optional<camera::Cause> second;
  camera::CauseKind kind = camera::CauseKind::hiccup;
};

struct World {
  World(std::uint64_t seed, bool held_out, std::vector<camera::Cause> causes_);

  double add(What what, double from, double length, double value = 1);  // returns its end
  // What is the matter now; null: not that.
  const Span* on(What what) const;
  double loss() const;  // share of packets
  bool runs() const { return on(What::dead) == nullptr && on(What::frozen) == nullptr; }
  bool stack_up() const { return runs() && t >= boot_at + boot_s; }
  bool listens() const { return stack_up() && t >= boot_at + boot_s + listen_s; }
  // A packet there and its answer back.
  bool passes() { return !dice.chance(std::min(1.0, 2 * loss())); }
  enum class Found : std::uint8_t { nobody, board, stranger };
  Found at_address() const;
  // Time in which nothing happens: only the wall clock and the board's go on.
  void skip(double seconds);

  Dice dice;
  std::vector<camera::Cause> causes;  // what goes wrong in turn; empty: nothing

  // The board.
  double fps = 10, bytes = 30e3;  // pictures
  double ramp = 40, ramp_s = 2;   // of brightness after a start
  double boot_s = 3, listen_s = 0.3, send_timeout_s = 5;
  bool stamped = true;
  bool aborts = false;
  double boot_at = 0;
  // The network, and how the station is placed in it.
  double rtt_s = 0.008, base_loss = 0.002, buffer_bytes = 1e6;
  bool echo_allowed = true;
  int near = 3, far = 0;                 // other cameras
  double near_share = 0, far_share = 0;  // how many of them stop with this one
  // What its faults are like.
  double mode = 0, period_s = 0, minute_of_day = 0;
  bool shared_supply = false, edge_neighbour = false;

  // Now.
  double t = 0, wall_less_mono = 0;
  std::vector<Span> spans;
  bool weak_radio = false;        // besides the fault
  bool fresh_next = false;        // the next fault comes as soon as it streams again
  bool moved = false;             // to another address
  bool viewer_was_there = false;  // another one kept us out
};

}  // namespace rookery::bench
