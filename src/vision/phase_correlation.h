// Inner: how far one picture is shifted against another, by phase correlation.
#pragma once

#include <memory>
#include <span>
#include <vector>

#include "jpeg/luma_plane.h"

namespace rookery::vision {

// A picture's spectrum, as compare() wants it, and its detail, for a comparison where it stands.
struct Spectrum {
  std::vector<float> values;  // re, im
  std::vector<float> detail;
  double contrast = 0;  // root mean square of the detail, grey levels
  bool empty() const { return values.empty(); }
};

struct Shift {
  double dx_px = 0;
  double dy_px = 0;
  double peak = 0;  // 1: the same picture, moved; 0: nothing in common
};

// strand-bound. For pictures of one size, 64×48 to 4096×4096.
class PhaseCorrelation {
 public:
  // weights: how much each pixel of the picture counts, 0 to 1; width·height of them. Throws std::bad_alloc.
  PhaseCorrelation(int width_px, int height_px, std::span<const float> weights);
  ~PhaseCorrelation();
  PhaseCorrelation(const PhaseCorrelation&) = delete;
  PhaseCorrelation& operator=(const PhaseCorrelation&) = delete;

  // Pictures are looked at this many times smaller, so that the longer side has at most 320 pixels.
  int reduced() const { return reduced_; }
  Spectrum compute(const jpeg::LumaPlane& plane) { return compute(plane, 0, 0); }
  // Where `now` lies against `before`.
  Shift compare(const Spectrum& before, const Spectrum& now);
  // The same, closer: `now` is looked at once more where it has gone to. The window stands still otherwise,
  // and draws a shift towards 0.
  Shift compare_closely(const Spectrum& before, const Spectrum& now, const jpeg::LumaPlane& plane);
  // Correlation of both as they stand, −1 to 1; 0 for pictures without detail.
  static double compare_in_place(const Spectrum& before, const Spectrum& now);

 private:
  class Transform;
  // With the window moved, by pixels of what is looked at.
  Spectrum compute(const jpeg::LumaPlane& plane, int right, int down);
  int reduced_;
  int width_;  // of what is looked at
  int height_;
  int columns_;  // of the transform, at most so many
  int rows_;
  std::vector<float> window_;
  std::vector<float> low_pass_;  // of each frequency, their sum being 1
  std::unique_ptr<Transform> transform_;
};

}  // namespace rookery::vision
