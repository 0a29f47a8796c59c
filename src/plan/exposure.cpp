#include "plan/exposure.h"

#include <cmath>

namespace rookery::plan {

double motion_blur_px(MetresPerSecond speed, Seconds exposure, PerMetre density) {
  return (speed * exposure * density).value();
}

Seconds longest_exposure(MetresPerSecond speed, PerMetre density, double blur_px) {
  return blur_px / (speed * density);
}

Seconds clean_exposure(Hertz mains, int n) { return static_cast<double>(n) / (2.0 * mains); }

double flicker_left(Hertz mains, Seconds exposure, double depth) {
  const double turns = (2.0 * mains * exposure).value();
  if (turns < 1e-9) return depth;
  return depth * std::abs(std::sin(M_PI * turns) / (M_PI * turns));
}

Seconds Readout::line() const { return 1.0 / (rate * static_cast<double>(lines)); }

Seconds Readout::picture() const { return line() * static_cast<double>(used_lines); }

double Readout::lines_exposed(Seconds exposure) const { return (exposure / line()).value(); }

double Readout::bands(Hertz mains) const { return (picture() * 2.0 * mains).value(); }

std::optional<Readout> usual_readout(int width_px, int height_px) {
  if (width_px > 800 || height_px > 600) return Readout{1248, 1200, 15_Hz};
  if (width_px > 400 || height_px > 296) return Readout{672, 600, 30_Hz};
  return std::nullopt;
}

int lines_that_fit(int sensor_lines, int lines) {
  int share = 1;
  while (sensor_lines / share > lines) ++share;
  return sensor_lines / share;
}

}  // namespace rookery::plan
