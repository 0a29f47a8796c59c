// Grids of a scene as a board's pictures would give them, and what really happened in it.
#pragma once

#include <random>
#include <string>
#include <vector>

#include "jpeg/luma_grid.h"
#include "sim/faults.h"
#include "sim/scene.h"

namespace rookery::bench {

inline double seconds(sim::SceneTime t) { return std::chrono::duration<double>(t).count(); }

struct Span {
  sim::SceneTime start;
  sim::SceneTime end;
  std::string what;
  double share = 0;  // of the picture, largest box at a moment
};

// What happens to the picture besides.
enum class Troubles { none, usual, rough };

// Draws a scene of 160×120 pixels and makes 80×60 cells of it.
class GridMaker {
 public:
  // none: nothing but the scene and the sensor's noise. Otherwise: exposure that drifts and steps, banding
  // for some minutes, a lamp on a timer, head lights, once in twelve hours a knock against the mount. Borrows
  // `scene`.
  GridMaker(sim::Scene& scene, std::string name, std::uint64_t seed, Troubles troubles);
  void make(sim::SceneTime t, jpeg::LumaGrid& grid);
  // How many cells within the boxes of `what` something changes by `levels` grey levels or more at `t`,
  // against the scene at `bare`, when nothing of that kind was there; in the light of `t`, without noise and
  // rounding. What anybody could see, whatever looks for it.
  int standing_out(sim::SceneTime t, sim::SceneTime bare, const std::string& what, double levels);
  // What of its own doing was going on, for people.
  std::string happening(sim::SceneTime t) const;

 private:
  void draw(sim::SceneTime t);
  void light(sim::SceneTime t);
  sim::Scene& scene_;
  const std::string name_;
  const Troubles troubles_;
  sim::Picture picture_;
  std::mt19937 random_;
  std::vector<float> normal_;
  std::vector<float> cells_;
};

// What a detector is to find: wanted, and at least 1 % of the picture at some moment. Spans less than 5 s
// apart are one. `end`: of the run.
std::vector<Span> wanted_spans(const sim::Scene& scene, sim::SceneTime end);
// What excuses an event beside those: wanted things that are smaller, the first minute, and a job's beginning
// and end, which are something that happens though nobody came.
std::vector<Span> any_spans(const sim::Scene& scene, sim::SceneTime end);

// From when `truth` can be seen: 0.4 % of the picture's cells, the smallest thing of the middle sensitivity,
// differ by 2 grey levels, one step of the board's JPEG, from the scene without it. At most its end. Chosen
// before anything was measured with it, and independent of the detector.
sim::SceneTime visible_from(const sim::Scene& scene, GridMaker& maker, const Span& truth);

// An event finds a truth when it overlaps from a second before it to two after.
bool overlaps(const Span& truth, sim::SceneTime start, sim::SceneTime end);
bool explained(const std::vector<Span>& truths, sim::SceneTime start, sim::SceneTime end);

}  // namespace rookery::bench
