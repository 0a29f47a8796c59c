#include "bench/causes/world.h"

#include <utility>

namespace rookery::bench {

namespace {

constexpr double kDay_s = 86400;

}  // namespace

World::World(std::uint64_t seed, bool held_out, std::vector<camera::Cause> causes_)
    : dice(seed * 7919 + (held_out ? 104729 : 0), held_out), causes(std::move(causes_)) {
  fps = dice.span(4, 15);  // BOARDS 2: 4 to 34, mostly 6 to 13
  bytes = dice.span(9e3, 60e3);
  stamped = dice.chance(0.8);                                        // not all programs stamp (BOARDS 1)
  ramp = dice.chance(0.8) ? dice.span(15, 70) : dice.uniform(0, 8);  // first pictures dark or green (3)
  ramp_s = dice.span(0.8, 4);
  boot_s = dice.span(1.6, 5);            // start-up and joining the network (from memory)
  listen_s = dice.span(0.1, 0.8);        // network up, server not yet
  send_timeout_s = dice.span(4.5, 5.5);  // 5 s (BOARDS 1)
  aborts = dice.chance(0.4);             // a viewer that stalls is reset rather than closed
  rtt_s = dice.span(0.004, 0.020);       // 6 to 10 ms (BOARDS 2)
  base_loss = dice.span(0.0005, 0.008);
  echo_allowed = dice.chance(0.6);
  near = dice.chance(0.1) ? 0 : dice.count(1, 11);
  far = dice.chance(0.7) ? 0 : dice.count(1, 6);
  buffer_bytes = dice.span(0.4e6, 4e6);
  boot_at = -dice.span(600, 3e5);
  mode = dice.uniform(0, 1);
  period_s = dice.span(3, 60) * 3600;
  minute_of_day = dice.uniform(0, kDay_s);
  shared_supply = dice.chance(0.1);
  edge_neighbour = dice.chance(0.2);
}

double World::add(What what, double from, double length, double value) {
  spans.push_back({what, from, from + length, value});
  return from + length;
}

const Span* World::on(What what) const {
  for (const Span& span : spans) {
    if (span.what == what && t >= span.from && t < span.to) return &span;
  }
  return nullptr;
}

double World::loss() const {
  double most = base_loss;
  for (const Span& span : spans) {
    if (span.what == What::loss && t >= span.from && t < span.to) most = std::max(most, span.value);
  }
  return on(What::ap_down) != nullptr ? 1 : most;
}

World::Found World::at_address() const {
  if (on(What::ap_down) != nullptr) return Found::nobody;
  if (on(What::usurped) != nullptr) return Found::stranger;
  if (on(What::elsewhere) != nullptr || !stack_up()) return Found::nobody;
  return Found::board;
}

void World::skip(double seconds) {
  wall_less_mono += seconds;
  boot_at -= seconds;  // uptime goes on with it
}

}  // namespace rookery::bench
