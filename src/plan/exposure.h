// How long a picture is exposed: what moves is smeared, lamps on the mains flicker, and a sensor that reads
// line after line turns that into bands.
#pragma once

#include <optional>

#include "plan/units.h"

namespace rookery::plan {

// How far something smears while it is exposed, in pixels.
double motion_blur_px(MetresPerSecond speed, Seconds exposure, PerMetre density);
// The longest exposure that smears by at most `blur_px`; the speed more than zero.
Seconds longest_exposure(MetresPerSecond speed, PerMetre density, double blur_px);

// Lamps flicker at twice the mains frequency. The n-th exposure that takes in whole flickers, so that every
// line gets the same light: n/(2·mains), n/100 s at 50 Hz.
Seconds clean_exposure(Hertz mains, int n);

// What is left of a flicker of depth `depth` (0 to 1, (most − least)/(most + least)) in lines exposed for
// `exposure`: depth·|sin(πx)/(πx)| with x = 2·mains·exposure.
double flicker_left(Hertz mains, Seconds exposure, double depth);

// How a sensor reads a picture out: line after line.
struct Readout {
  int lines = 0;       // a frame, those without picture included
  int used_lines = 0;  // of them, those with picture
  Hertz rate;          // frames a second

  Seconds line() const;     // from one line to the next
  Seconds picture() const;  // from the first line with picture to the last
  double lines_exposed(Seconds exposure) const;
  // Pairs of a bright and a dark band, from top to bottom.
  double bands(Hertz mains) const;
};

// The usual sensor's, by the picture that it makes: 1248 lines at 15 frames a second above 800 × 600, 672 at
// 30 down to 400 × 296 (lines from memory, frames from the maker's datasheet v1.6, as quoted by others).
// Nothing for smaller ones, of which no figure is at hand.
std::optional<Readout> usual_readout(int width_px, int height_px);

// Lines with picture when a sensor of `sensor_lines` fits them into `lines`: all, or every second, third … of
// them (or so many joined).
int lines_that_fit(int sensor_lines, int lines);

}  // namespace rookery::plan
