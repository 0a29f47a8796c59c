// The three filament printers: what stands still of each, what moves, in whose light. Pure.
#pragma once

#include <string_view>

#include "sim/printed_object.h"
#include "sim/scene_parts.h"

namespace rookery::sim {

struct PrinterWorld {
  World world;  // bench, wall, frame
  Look look;
  std::vector<Solid> head;  // as it stands with its nozzle at `home`
  std::vector<Solid> beam;  // moves with the head, but not along x; may be empty
  std::vector<Solid> bed;   // moves towards and away from the viewer; empty: the bed stands still
  bool beam_follows_y = false;
  bool delta = false;  // three arms instead of a beam
  Vec3 home;           // nozzle in the middle of the bed, on the bed
  PrintedKind kind = PrintedKind::vase;
  Material plastic;
  Vec3 spool;  // where the filament comes from
};

// A gloved hand and its sleeve, `arm` times 38 cm long, that has hold of something at `grip`, coming from the
// viewer's right.
std::vector<Solid> reaching_hand(Vec3 grip, float arm = 1);

PrinterWorld anvil_world();
PrinterWorld bobbin_world();
PrinterWorld cog_world();

}  // namespace rookery::sim
