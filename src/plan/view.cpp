#include "plan/view.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace rookery::plan {

Metres Sensor::diagonal() const { return pixel * std::hypot(width_px, height_px); }

Sensor usual_sensor() { return {2.2_um, 1600, 1200}; }

Picture picture_on(const Sensor& sensor, int width_px, int height_px) {
  const double scale = std::min(static_cast<double>(sensor.width_px) / width_px,
                                static_cast<double>(sensor.height_px) / height_px);
  return {width_px, height_px, sensor.pixel * scale};
}

Degrees angle_of_view(Metres size, Metres focal) {
  return {2 * std::atan((size / (2.0 * focal)).value()) * 180 / M_PI};
}

Metres focal_length(Metres size, Degrees angle) { return size / (2 * std::tan(angle.radians() / 2)); }

Metres image_distance(Metres focal, Metres object) { return focal * object / (object - focal); }

Metres hyperfocal_distance(Metres focal, double f_number, Metres circle) {
  return focal * focal / (f_number * circle) + focal;
}

SharpRange sharp_range(Metres hyperfocal, Metres focal, Metres focus) {
  SharpRange range;
  range.near = (hyperfocal - focal) * focus / (hyperfocal + focus - 2.0 * focal);
  if (focus < hyperfocal) range.far = (hyperfocal - focal) * focus / (hyperfocal - focus);
  return range;
}

Metres best_focus(Metres near, Metres far) { return 2.0 / (1.0 / near + 1.0 / far); }

Metres blur_circle(Metres focal, double f_number, Metres focus, Metres depth) {
  return focal * focal / f_number * abs(depth - focus) / (depth * (focus - focal));
}

PerMetre density_at(Metres focal, Metres pixel, Metres depth) { return focal / (pixel * depth); }

Metres farthest_for(Metres focal, Metres pixel, PerMetre density) { return focal / (pixel * density); }

Metres Target::depth_at(Metres along) const { return distance + along * std::sin(tilt.radians()); }

PerMetre density_along(Metres focal, Metres pixel, const Target& target, Metres along) {
  const Metres depth = target.depth_at(along);
  return density_at(focal, pixel, depth) * (target.distance / depth).value() *
         std::cos(target.tilt.radians());
}

PerMetre density_upright(Metres focal, Metres pixel, const Target& target, Metres along) {
  const Metres depth = target.depth_at(along);
  const Metres above = target.distance * std::sin(target.tilt.radians()) + along;
  return density_at(focal, pixel, depth) * (above / depth).value();
}

Stretch visible_stretch(const Picture& picture, Metres focal, const Target& target) {
  const double half = (picture.height() / (2.0 * focal)).value();
  const double cosine = std::cos(target.tilt.radians());
  const double sine = std::sin(target.tilt.radians());
  Stretch stretch;
  stretch.near = -half * target.distance / (cosine + half * sine);
  // Where the two are all but parallel, they meet nowhere that a person could go to.
  if (const double towards = cosine - half * sine; towards > 1e-6)
    stretch.far = half * target.distance / towards;
  return stretch;
}

Metres least_distance(const Bed& bed, Degrees tilt, const Picture& picture, Metres focal) {
  const Metres across = bed.width * focal / picture.width();
  const Metres up = bed.depth * std::cos(tilt.radians()) * focal / picture.height();
  return bed.depth / 2.0 * std::sin(tilt.radians()) + std::max(across, up);
}

std::span<const Task> tasks() {
  static constexpr std::string_view kQuoted = "IEC/EN 62676-4:2014, as quoted by others";
  static constexpr std::string_view kFromMemory = "IEC/EN 62676-4:2014, from memory";
  const auto px = [](double density) { return PerMetre::from_value(density); };
  static const std::array kTasks = {
      Task{"monitor", "how many there are, and where they go", px(12.5), kQuoted},
      Task{"detect", "whether someone is there", px(25), kFromMemory},
      Task{"observe", "what they wear and carry", px(62.5), kFromMemory},
      Task{"recognise", "whether it is someone known", px(125), kQuoted},
      Task{"identify", "who it is, beyond doubt", px(250), kFromMemory},
      Task{"inspect", "marks on skin and print on cloth", px(1000), kFromMemory},
  };
  return kTasks;
}

const Task* find_task(std::string_view key) {
  const auto all = tasks();
  const auto at = std::find_if(all.begin(), all.end(), [&](const Task& task) { return task.key == key; });
  return at == all.end() ? nullptr : &*at;
}

const Task* finest_task(PerMetre density) {
  const Task* finest = nullptr;
  for (const Task& task : tasks()) {
    if (density >= task.density) finest = &task;
  }
  return finest;
}

}  // namespace rookery::plan
