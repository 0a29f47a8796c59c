// Pictures to choose a lapse from, for tests.
#pragma once

#include <vector>

#include "vision/lapse_choice.h"

namespace rookery::vision {

struct Shot {
  double at_s = 0;
  std::vector<std::uint8_t> cells;
  double sharpness = 0;
  double dark = 0;
  bool usable = true;
};

inline LapseOptions options_of(int width, int height, int slots, double every_s = 10) {
  LapseOptions o;
  o.width = width;
  o.height = height;
  o.slots = {0, every_s, slots};
  return o;
}

inline base::Result<LapseChoice> choose(const LapseOptions& options, const std::vector<Shot>& shots) {
  auto chooser = LapseChooser::make(options);
  if (!chooser) return chooser.error();
  for (const Shot& shot : shots) {
    auto added = chooser->add({.at_s = shot.at_s,
                               .cells = shot.cells,
                               .sharpness = shot.sharpness,
                               .dark_share = shot.dark,
                               .usable = shot.usable});
    if (!added) return added.error();
  }
  return chooser->finish();
}

}  // namespace rookery::vision
