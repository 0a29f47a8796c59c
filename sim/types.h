// Words shared by the make-believe workshop: picture bytes, sizes, times and the truth that a run writes.
#pragma once

#include <chrono>
#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "base/time.h"

namespace rookery::sim {

// One encoded picture (or whatever a fault made of it). Shared and unchanging.
using Bytes = std::shared_ptr<const std::vector<std::uint8_t>>;

inline Bytes make_bytes(std::vector<std::uint8_t> bytes) {
  return std::make_shared<const std::vector<std::uint8_t>>(std::move(bytes));
}

// Width and height in pixels, 64 to 4096 each, both even.
struct Size {
  int width = 640;
  int height = 480;
  bool operator==(const Size&) const = default;
};

// A rectangle of the picture in pixels; empty means "the whole picture or none of it".
struct Region {
  int x = 0;
  int y = 0;
  int width = 0;
  int height = 0;
  bool operator==(const Region&) const = default;
};

// Time since the scene began. A scene is a function of its seed and this.
using SceneTime = std::chrono::microseconds;

// What a detector is to make of something that happens.
enum class TruthKind : std::uint8_t {
  wanted,   // somebody or something came, was carried, was taken away: to be found
  job,      // the work that is filmed: a head moves, a print grows, a kiln fires
  ambient,  // moths, leaves, hot air, the clock: moves and means nothing, to be passed over
  light,    // a lamp was switched, a door lets light in, the exposure settles: no motion
  fault,    // of the board, its supply, its lens or its radio
};

// "wanted", "job", "ambient", "light", "fault".
std::string_view name_of(TruthKind kind);

// Where something was at a moment.
struct TruthBox {
  base::WallTime at;
  Region region;
  bool operator==(const TruthBox&) const = default;
};

// What really happened, for scoring detectors. `end` equals `start` for what has no length; what goes on has
// the moment of asking as its end.
struct TruthEvent {
  base::WallTime start;
  base::WallTime end;
  TruthKind kind = TruthKind::fault;
  std::string what;     // "visitor", "van", "head"; of a fault its name: "stall", "supply-sag"
  Region region;        // all of the picture that it touches between start and end; empty: no part of it
  double strength = 0;  // of a fault, as sim/faults.h says
  std::vector<TruthBox> track;  // wanted: its box every half second while it is to be seen
  bool operator==(const TruthEvent&) const = default;
};

}  // namespace rookery::sim
