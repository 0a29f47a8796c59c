// Inner: what the camera itself does to a picture between two looks: exposure, gain, mains banding, the steps
// in which JPEG stores a cell. Taken out before pictures are compared.
#pragma once

#include <array>
#include <cstdint>
#include <span>

#include "jpeg/luma_grid.h"

namespace rookery::vision {

// Differences are counted in eighths of a grey level, so that gain and offset leave no rounding of their own.
inline constexpr int kUnit = 8;
// Mains banding is at most ±12 grey levels from row to row.
inline constexpr int kMostBand = 12 * kUnit;

// now = gain·before + offset
struct Exposure {
  double gain = 1;
  double offset = 0;
};

// What the exposure did between two grids of one size, by least squares reweighted so that what moved has
// little say. Gain within 0.5 to 2.
Exposure fit_exposure(const jpeg::LumaGrid& before, const jpeg::LumaGrid& now);

// What banding adds to a row of differences, in eighths: their median, when it is in bounds and at least
// three quarters of the row lie within `near` of it; else 0, since something moved across the row.
int band_of(const std::int16_t* row, std::size_t width, int near);

// The usual distance between the values that cells take, grey levels, 1 to 16: JPEG stores a cell in steps of
// the first entry of its quantisation table, divided by eight.
double quantum_of(const jpeg::LumaGrid& grid);

// The 75th percentile of |difference| in eighths, of some 2400 values or fewer.
int upper_quartile(std::span<const std::int16_t> difference);

}  // namespace rookery::vision
