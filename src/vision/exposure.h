// Exposure: how much of the picture is cut off at black or white, and when it has settled after a start.
#pragma once

#include <optional>
#include <span>

#include "base/time.h"
#include "jpeg/luma_grid.h"

namespace rookery::vision {

// Shares of cells, 0 to 1.
struct Clipping {
  double dark = 0;    // below 8
  double bright = 0;  // above 250
  double mean = 0;    // grey levels
};

Clipping compute_clipping(const jpeg::LumaGrid& grid);

// The mean of one picture, since the board or its stream started.
struct LevelAt {
  std::chrono::duration<double> since{};
  double level = 0;  // grey levels
};

// When the level came within 5 % (at least 3 grey levels) of where it ended, and stayed there until the end.
// The end is the median of the last third. Nothing when there are fewer than 10 levels or it never stayed
// (the last two levels are outside). any-thread.
std::optional<std::chrono::duration<double>> settled_after(std::span<const LevelAt> levels);

// Which way up: light comes from above in most rooms and everywhere outdoors, so a lower third that is much
// brighter than the upper third hints at a picture that stands on its head. Only a hint.
struct UprightHint {
  double upper = 0;  // mean of the third, grey levels
  double lower = 0;
  bool may_be_upside_down = false;  // lower ≥ 1.6 × upper and ≥ 30 levels above it
};

UprightHint hint_upright(const jpeg::LumaGrid& grid);
// The same of means that were taken before, as of several pictures.
UprightHint judge_upright(double upper, double lower);

}  // namespace rookery::vision
