// What goes wrong with a print, as it is drawn: where the part has gone, the strands of a mess, what happens
// to the light and before the lens. Pure functions of the seed and what is given.
#pragma once

#include "sim/job_course.h"
#include "sim/scene_parts.h"

namespace rookery::sim {

// Where the part is, measured from its place on the bed.
struct PartPlace {
  Vec3 shift{};
  PartPose pose{};
};

// What its way depends on.
struct ComingOffNow {
  double since_s = 0;   // scene seconds since it came off
  double worked_s = 0;  // … of work
  Vec3 nozzle{};        // has moved so far since then, as the bed sees it
  Vec3 bench{};         // from the part's place to the bench in front of the machine
  float height = 0;     // of what is printed, cm
  bool bed_slides = false;
};
PartPlace place_of(const JobEvent& came_off, std::uint64_t seed, const ComingOffNow& now);

// A heap of strands. immutable.
class Mess {
 public:
  Mess() = default;
  // printed: the part's height when it began.
  Mess(const JobEvent& event, std::uint64_t seed, float printed, float part_reach);
  // `amount`: 0 nothing to 1 all of it; `at`: where the part stands. The last strand hangs on the nozzle.
  void draw(Canvas& canvas, const Projection& view, Vec3 at, float amount, Ink colour, bool below) const;
  void draw_thread(Canvas& canvas, const Projection& view, Vec3 at, float amount, Ink colour,
                   Vec3 nozzle) const;
  struct Seen {
    double share = 0;  // JobTruth::mess_share
    Region region;     // pixels
  };
  Seen seen(const Projection& view, Size size, Vec3 at, float amount) const;

 private:
  struct Strand {
    std::vector<Vec3> points;
    float width = 0.1F;  // cm
    float tone = 1;
  };
  std::size_t count(float amount) const;
  std::vector<Strand> strands_;
};
// How much of it there is `into_s` seconds after it began.
float mess_amount(const JobEvent& event, double into_s);

// Light and lens at a moment: lamp_off, daylight, exposure, covered, unsharp.
void apply_light_and_lens(Picture& picture, const JobCourse& course, std::uint64_t seed, double s);

// Somebody in dark clothes who stands before the machine at `place`, on the bench's height.
std::vector<Solid> passer_by(Vec3 place);

// From 0, out of the picture, to 1, at its work: what a hand does that reaches in for so long.
float reaching(double into_s, double length_s);

}  // namespace rookery::sim
