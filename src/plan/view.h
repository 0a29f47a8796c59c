// Lens and sensor: how much of a target the picture shows, how finely, and from where to where it is sharp.
//
// The lens is a thin one that keeps straight lines straight, and so far from what it looks at that the sensor
// stands at its focal length: pixels on a metre are right to f/(distance − f), which is 11 % at ten focal
// lengths.
#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "plan/units.h"

namespace rookery::plan {

struct Sensor {
  Metres pixel;  // from one pixel to the next
  int width_px = 0;
  int height_px = 0;

  Metres width() const { return pixel * static_cast<double>(width_px); }
  Metres height() const { return pixel * static_cast<double>(height_px); }
  Metres diagonal() const;
};

// The usual 2-megapixel quarter-inch sensor: 1600 × 1200 of 2.2 µm. Source: maker's datasheet v1.6, as quoted
// by others.
Sensor usual_sensor();
// The usual lens in front of it, across the diagonal, as its sellers state it.
inline constexpr Degrees kUsualLens{68};

// A picture as it comes from the sensor, scaled down as a whole; where its shape is another, as much as fits
// is used and the rest cut off evenly.
struct Picture {
  int width_px = 0;
  int height_px = 0;
  Metres pixel;  // what one pixel of the picture is on the sensor

  Metres width() const { return pixel * static_cast<double>(width_px); }
  Metres height() const { return pixel * static_cast<double>(height_px); }
};
// Neither side larger than the sensor's.
Picture picture_on(const Sensor& sensor, int width_px, int height_px);

// angle = 2·atan(size / 2f).
Degrees angle_of_view(Metres size, Metres focal);
// The same turned round; the angle below 180°.
Metres focal_length(Metres size, Degrees angle);

// Where the image lies behind the lens: 1/f = 1/s + 1/s'. `object` beyond the focal length.
Metres image_distance(Metres focal, Metres object);

// H = f²/(N·c) + f, with the aperture f/N and the circle of confusion c.
Metres hyperfocal_distance(Metres focal, double f_number, Metres circle);

// What is sharp, along the axis.
struct SharpRange {
  Metres near;
  std::optional<Metres> far;  // nothing: to infinity, from a focus at the hyperfocal distance on
};
// Focused at `focus`, beyond twice the focal length.
SharpRange sharp_range(Metres hyperfocal, Metres focal, Metres focus);
// The focus at which the nearest and the farthest part are equally sharp: 2/(1/near + 1/far).
Metres best_focus(Metres near, Metres far);
// What a point at `depth` becomes on the sensor: f²/N · |depth − s| / (depth · (s − f)). The range above is
// where it is at most c.
Metres blur_circle(Metres focal, double f_number, Metres focus, Metres depth);

// Pixels on a metre of what stands square to the axis at `depth`: f/(pixel·depth).
PerMetre density_at(Metres focal, Metres pixel, Metres depth);
// Where they have fallen to `density`.
Metres farthest_for(Metres focal, Metres pixel, PerMetre density);

// A flat target. The axis meets its middle at `distance`; it leans back by `tilt` about a line that is level
// in the picture, so that its upper part is farther. `along` is a place on it, from the middle, away from the
// camera.
struct Target {
  Metres distance;
  Degrees tilt;  // 0 ≤ tilt < 90°

  // How far that place is along the axis.
  Metres depth_at(Metres along) const;
};
// Pixels on a metre along the slope: f·d·cos t/(pixel·depth²).
PerMetre density_along(Metres focal, Metres pixel, const Target& target, Metres along);
// Pixels on a metre that stands up square from the target, as the layers of a print do from its bed:
// f·(d·sin t + along)/(pixel·depth²). Nothing, or less, where the camera looks straight down or from behind.
PerMetre density_upright(Metres focal, Metres pixel, const Target& target, Metres along);

// The part of the target's plane that the picture shows, along the slope.
struct Stretch {
  Metres near;
  std::optional<Metres> far;  // nothing: the picture's upper edge looks past the plane
};
Stretch visible_stretch(const Picture& picture, Metres focal, const Target& target);

// A bed, its middle at the target's.
struct Bed {
  Metres width;
  Metres depth;
};
// The distance from which on a whole bed is in the picture: D/2·sin t + max(W/(2·tan(h/2)),
// D·cos t/(2·tan(v/2))). Its near edge decides.
Metres least_distance(const Bed& bed, Degrees tilt, const Picture& picture, Metres focal);

// What a picture is good for, by the pixels it has on a metre. Source: IEC/EN 62676-4:2014; "monitor" and
// "recognise" as quoted by others, the others from memory.
struct Task {
  std::string_view key;   // "identify"
  std::string_view sees;  // "who it is, beyond doubt"
  PerMetre density;
  std::string_view source;
};
// From the coarsest on.
std::span<const Task> tasks();
const Task* find_task(std::string_view key);
// The finest that so many pixels serve; null when not even the coarsest.
const Task* finest_task(PerMetre density);

}  // namespace rookery::plan
