// What a printer makes, what happens to it meanwhile, and what is then true of it.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "sim/canvas.h"
#include "sim/printed_object.h"
#include "sim/types.h"

namespace rookery::sim {

// What may happen in a job. `strength` and `manner` are said where they mean something.
enum class Mishap : std::uint8_t {
  came_off,      // the part leaves its place on the bed; manner: a ComingOff; strength: how far, 0.3 to 2
  layer_shift,   // the layers from here on stand aside; strength: cm, 0.1 to 3
  mess,          // strands instead of a part, which grows no more; manner: a MessLook;
                 // length_s: until it has grown to all of it; strength: its size, 0.2 to 1.5
  stall,         // the head stays where it is; length_s 0: for ever
  nothing_out,   // the head works on, nothing grows any more
  spool_change,  // the head stands aside for length_s, a hand comes and goes
  reach_in,      // a hand in the picture for length_s; the work goes on
  walk_by,       // somebody walks between camera and machine; length_s: there and gone again
  lamp_off,      // the room's lamp, for length_s; 0: for ever
  daylight,      // comes and goes slowly from one side; strength: share of the light, 0.05 to 0.8
  exposure,      // the camera makes the picture brighter or darker; strength: factor, 0.3 to 3
  knocked,       // the camera looks elsewhere from here on; strength: degrees, 0.3 to 90; manner: 0 to the
                 // right, 1 left, 2 up, 3 down
  covered,       // something before the lens, for length_s; 0: for ever
  unsharp,       // out of focus, for length_s (0: for ever); strength: radius of the blur, px of 640, 1 to 16
};
inline constexpr int kMishaps = 14;

enum class ComingOff : std::uint8_t {
  slides,        // across the bed, pushed a little now and then
  tips,          // falls over and is pushed about
  dragged,       // hangs on the nozzle
  stays_behind,  // stands while the bed goes on under it; on a bed that stands still: like slides
  flung,         // kept for scoring only: lies on the bench in front
  leans,         // kept for scoring only: one side lifts, it stands askew and aside
};
enum class MessLook : std::uint8_t {
  strands,  // a heap of curls, wider than high
  tangle,   // tight curls over and round the part
  loops,    // kept for scoring only: wide loose loops over the rim of the bed
  clump,    // kept for scoring only: thick, on one side
};

struct JobEvent {
  Mishap what = Mishap::stall;
  double at_s = 0;      // scene time, ≥ 0
  double length_s = 0;  // ≥ 0
  float strength = 1;
  std::uint8_t manner = 0;
  bool operator==(const JobEvent&) const = default;
};

// What a printer makes and how fast, when it is not what the scene's own haste asks for.
struct PrintJob {
  std::optional<PrintedKind> kind{};  // none: the scene's own
  float layer_seconds = 4;            // 1 to 3600; a layer as the eye sees it
  bool from_start = false;            // else a good part of the first print is done when the scene begins
  double rest_s = 45;                 // 20 to 1e6: head parked after a print; 15 s before its end the part is
                                      // taken off. Long: the part stands there and nothing follows
  std::vector<JobEvent> events{};  // in any order; at most one each of came_off, layer_shift, mess, knocked
  double idle_s = 0;               // 0 to 1e5: the machine stands with its head parked so long before it
                                   // begins; scene time counts from before
};

// The work that a scene shows, at a moment: for scoring the film that is made of it and what watches it.
struct JobTruth {
  std::int64_t number = 0;  // which job of the scene
  bool under_way = true;    // false: between two jobs
  double grown = 0;         // the part's size, never less than before in one job; cm, or a share from 0 to 1
  std::optional<Point> head{};  // of the tool, pixels
  std::optional<Point> foot{};  // of the part, pixels
  // Printers only. Seconds are scene time; pixels are those of the picture as it is seen at that moment.
  bool idle = false;      // not begun yet
  bool paused = false;    // for a change of spool
  bool stalled = false;   // head and bed do not move, though the job is under way
  bool finished = false;  // all layers were laid, whatever came of them, and the head is parked
  bool growing = false;   // the part becomes larger
  bool hand = false;      // a person is in the picture
  bool dark = false;      // the room's lamp is off
  bool knocked = false;   // another view than at first
  bool covered = false;
  bool unsharp = false;
  std::optional<double> detached_since_s{};
  std::optional<double> shifted_since_s{};
  std::optional<double> barren_since_s{};  // nothing has grown since, though the head works
  double mess_share = 0;                   // cells of 8 px of 640 that strands change, of all, 0 to 1
  Region part{};  // upright box round what is printed so far; empty: nothing yet, or taken off
  Region mess{};  // … round the strands
};

}  // namespace rookery::sim
