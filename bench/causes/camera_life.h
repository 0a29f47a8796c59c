// A make-believe camera's life as a station would see it: board, supply, radio, access point, other viewers
// and the station itself, event by event. It gives raw observations (when bytes were read, how connections
// ended, what probes were answered) to the same recorder that a station uses, so that reading the clues is
// tested too.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "camera/causes.h"
#include "camera/gap_recorder.h"

namespace rookery::bench {

struct LifeOptions {
  std::uint64_t seed = 1;
  // What goes wrong in turn; empty: nothing but the small hiccups of any network.
  std::vector<camera::Cause> faults;
  bool held_out = false;  // parameters outside the ranges that the table was made with
};

// One dropout as it was seen, and what truly lay behind it.
struct LivedDropout {
  camera::DropoutSeen seen;
  std::optional<camera::Cause> truth;  // none: a hiccup
  camera::CauseKind kind = camera::CauseKind::hiccup;
  std::optional<camera::Cause> second;  // of two that met
};

std::vector<LivedDropout> live(const LifeOptions& options);

}  // namespace rookery::bench
