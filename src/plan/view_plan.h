// What the subject "view" reckons with, once for its answer, its steps and its drawing.
#pragma once

#include <string>
#include <vector>

#include "plan/answer.h"
#include "plan/exposure.h"
#include "plan/view.h"

namespace rookery::plan {

// How the lens was described.
enum class LensBy { usual, focal_length, diagonal, horizontal };

// Two pixels for the least detail: the fewest on which a thing and what is beside it differ. Common practice,
// no source.
inline constexpr double kLeastDetailPx = 2;
// What may smear: common practice, no source.
inline constexpr double kMostBlurPx = 1;
// Brightness up and down by so much is where bands begin to be seen: common practice, no source.
inline constexpr double kMostFlicker = 0.02;

struct ViewPlan {
  Sensor sensor;
  bool usual_sensor = true;
  Picture picture;
  LensBy lens_by = LensBy::usual;
  Degrees lens_angle;  // as given, unless by focal length
  Metres focal;
  double f_number = 0;
  double circle_px = 0;
  Metres circle;  // of confusion, on the sensor

  Target target;
  Stretch visible;
  std::optional<Bed> bed;
  Metres near_depth;  // of the nearest and farthest part that counts, along the axis: of the bed, or the
  Metres far_depth;   // target's middle where there is none

  bool focus_given = false;
  Metres focus;
  Metres hyperfocal;
  SharpRange sharp;

  const Task* task = nullptr;
  std::optional<Metres> detail;
  std::optional<MetresPerSecond> speed;
  bool exposure_given = false;
  Seconds exposure;
  Hertz mains;
  double flicker_depth = 0;
  std::optional<Readout> readout;

  PerMetre density(Metres depth) const { return density_at(focal, picture.pixel, depth); }
  PerMetre middle() const { return density(target.distance); }
  // Out to where the picture has so many pixels on a metre.
  Metres out_to(PerMetre density) const { return farthest_for(focal, picture.pixel, density); }
  Metres covered_width(Metres depth) const { return picture.width() / focal * depth; }
  // Pixels on a detail in the middle: on a bed one that stands up from it, as a layer does, else one that
  // lies along the slope, where there are fewest.
  double detail_px(Metres size) const;
  Metres bed_from() const { return least_distance(*bed, target.tilt, picture, focal); }
  bool bed_fits() const { return bed && target.distance >= bed_from(); }
  // The blur by focus alone, in pixels of the picture: at a depth, and of the worst place that counts.
  double blur_px(Metres depth) const;
  double worst_blur_px() const;
  // The layer that is asked for, or a usual one (common practice, no source).
  Metres layer() const { return detail.value_or(0.2_mm); }
  // So steeply that what stands up from the bed has next to no height in the picture.
  bool from_above() const { return target.tilt < 6_deg; }
  // The blur by movement, at the bed's near edge or in the middle, in pixels; with a speed only.
  double motion_px() const { return motion_blur_px(*speed, exposure, density(near_depth)); }
  double flicker() const { return flicker_left(mains, exposure, flicker_depth); }
};

std::span<const Field> view_fields();

// Errors: invalid_value where values do not go together.
base::Result<ViewPlan> view_plan_of(const Values& values);

std::vector<Limit> view_limits(const ViewPlan& plan);
std::vector<Table> view_tables(const ViewPlan& plan);
std::vector<Step> view_steps(const ViewPlan& plan);
// From the side and from above, one scale for both.
std::string view_drawing(const ViewPlan& plan);

// For all of these: lengths, angles and densities as people read them.
std::string shown(Metres length, int digits = 3);
std::string shown(Degrees angle);
// What a person gave, without the zeros that say how exactly it was reckoned: "220 mm", "0.2 mm".
std::string given(Metres length);
std::string shown(Seconds time);
// Rounded so that whoever takes the number is on the right side of the bound.
std::string at_least(Metres bound);
std::string at_most(Metres bound);
std::string at_most(Seconds bound);
std::string shown(PerMetre density);
// Pixels with the decimals that they deserve: "0.3", "2.1", "37".
std::string shown_px(double pixels);

}  // namespace rookery::plan
