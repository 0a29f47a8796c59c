#include "bench/causes/board_side.h"

#include <cmath>

namespace rookery::bench {

using camera::AttemptEnd;

namespace {

constexpr double kSegment_bytes = 1436;  // a quarter of a board's window of 5744 bytes (BOARDS 2)

}  // namespace

void BoardSide::step() {
  if (!wire_.conn.open && !wire_.conn.closing) return;
  if (!world_.runs() || !wire_.conn.board_streams || world_.on(What::app_hung) != nullptr) return;
  if (world_.on(What::elsewhere) != nullptr) {
    wire_.conn.at_old_address = true;
    wire_.conn.board_streams = false;
    return;
  }
  // Who has our address answers for a connection that it does not know.
  if (world_.on(What::usurped) != nullptr) {
    finish(AttemptEnd::reset);
    wire_.conn.board_streams = false;
    return;
  }
  if (is_held_back()) return;
  if (world_.on(What::closes) != nullptr) {
    finish(world_.dice.chance(0.5) ? AttemptEnd::closed : AttemptEnd::cut);
    wire_.conn.board_streams = false;
    return;
  }
  if (world_.t < wire_.conn.due) return;
  if (world_.on(What::sensor_none) != nullptr) {
    if (world_.t > wire_.conn.due + 4) {  // no picture within 4 s: the stream is ended (BOARDS 1)
      finish(world_.dice.chance(0.7) ? AttemptEnd::cut : AttemptEnd::closed);
      wire_.conn.board_streams = false;
    }
    return;
  }
  send_picture();
}

// Lost packets come again after the sender's own patience, which doubles; new pictures wait for that.
bool BoardSide::is_held_back() {
  if (wire_.conn.stuck_since) {
    if (world_.t < wire_.conn.again_at) {
      if (world_.t - *wire_.conn.stuck_since > world_.send_timeout_s) give_up_viewer();
      return true;
    }
    if (world_.dice.chance(std::min(1.0, world_.loss()))) {
      wire_.conn.patience_s = std::min(2 * wire_.conn.patience_s, 20.0);
      wire_.conn.again_at = world_.t + wire_.conn.patience_s;
      return true;
    }
    arrive(wire_.conn.held_bytes, wire_.conn.held_bad);
    wire_.conn.stuck_since.reset();
    return true;
  }
  if (wire_.conn.board_gave_up) {
    if (world_.t < wire_.conn.again_at) return true;
    if (world_.dice.chance(std::min(1.0, world_.loss()))) {
      wire_.conn.patience_s = std::min(2 * wire_.conn.patience_s, 20.0);
      wire_.conn.again_at = world_.t + wire_.conn.patience_s;
      return true;
    }
    finish(world_.aborts ? AttemptEnd::reset : AttemptEnd::cut);
    wire_.conn.board_streams = false;
    return true;
  }
  return false;
}

void BoardSide::send_picture() {
  wire_.conn.due =
      std::max(wire_.conn.due + 1 / world_.fps, world_.t - 0.5 / world_.fps) + world_.dice.normal(0, 0.004);
  const Span* bad = world_.on(What::sensor_bad);
  const Span* noisy = world_.on(What::noisy);
  const double size =
      world_.bytes * (noisy != nullptr ? 1 + noisy->value : 1) * (1 + world_.dice.normal(0, 0.02));
  const bool is_bad = bad != nullptr && world_.dice.chance(bad->value);
  const double segments = size / kSegment_bytes;
  wire_.conn.segments += segments;
  const double p = world_.loss();
  wire_.conn.out_of_order += p < 0.9 ? segments * std::min(0.5, p) * world_.dice.uniform(0.5, 1.2) : 0;
  // With a window of four packets a lost one often waits for the time-out.
  const double stalls = 1 - std::pow(1 - std::min(0.999, p), segments * 0.25);
  if (wire_.conn.closed_window || world_.dice.chance(stalls)) {
    wire_.conn.stuck_since = world_.t;
    wire_.conn.patience_s = wire_.conn.closed_window ? 0.5 : world_.dice.uniform(0.25, 0.7);
    wire_.conn.again_at = world_.t + wire_.conn.patience_s;
    wire_.conn.held_bytes = size;
    wire_.conn.held_bad = is_bad;
    return;
  }
  arrive(size, is_bad);
}

void BoardSide::give_up_viewer() {
  wire_.conn.board_gave_up = true;
  wire_.conn.stuck_since.reset();
  wire_.conn.again_at = world_.t + wire_.conn.patience_s;
}

void BoardSide::arrive(double bytes, bool bad) {
  const double since = world_.t - world_.boot_at;
  const double luma =
      110 -
      world_.ramp * std::exp(-std::max(0.0, world_.t - (world_.boot_at + world_.boot_s + world_.listen_s)) /
                             world_.ramp_s);
  wire_.waiting.push_back({bytes, bad, since, luma, std::nullopt});
  wire_.waiting_bytes += bytes;
  wire_.conn.closed_window = wire_.waiting_bytes > world_.buffer_bytes;
  wire_.conn.last_heard = world_.t;
}
void BoardSide::finish(AttemptEnd how) { wire_.waiting.push_back({0, false, 0, 0, how}); }

}  // namespace rookery::bench
