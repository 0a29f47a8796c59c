// What light and the camera's own control do to a job's pictures.
#pragma once

#include <string_view>

#include "sim/canvas.h"

namespace rookery::bench {

enum class Light {
  steady,
  exposure,  // the board hunts: drifts by ±10 %, steps of 4 %, unrest of ±6 %, white balance with it
  lamp,      // the same, and a lamp to one side that is off for a quarter of each half hour
  bands,     // the same as exposure, and mains banding of 6 %
};
std::string_view name_of(Light light);

// At a second of the job.
class LightNow {
 public:
  LightNow(Light light, double s);
  // The factor of luma at that place, 0 to 1 each.
  double at(double u, double v) const;

 private:
  Light light_;
  double s_;
  double exposure_ = 1;
};
// The same on a picture, colour and white balance too.
void apply_light(sim::Picture& picture, Light light, double s);

}  // namespace rookery::bench
