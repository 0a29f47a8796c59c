// Words shared by the make-believe workshop: picture bytes, sizes, times and the truth that a run writes.
#pragma once

#include <chrono>
#include <cstdint>
#include <memory>
#include <string>
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

// What really happened, for scoring detectors: something moved (`what` = "head", "visitor", "van", …) or a
// fault was on ("fault stall", …). `end` equals `start` for what has no length.
struct TruthEvent {
  base::WallTime start;
  base::WallTime end;
  std::string what;
  Region region;
  bool operator==(const TruthEvent&) const = default;
};

}  // namespace rookery::sim
