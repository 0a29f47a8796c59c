// Banding: lamps on the mains flicker at twice its frequency, and a sensor that reads its rows one after the
// other sees that as bands across the picture.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/time.h"
#include "jpeg/luma_plane.h"

namespace rookery::vision {

// The mean of each row of one picture, and when the board began it, as far as it says so.
struct RowMeans {
  std::vector<double> rows;                 // grey levels, top to bottom
  std::optional<base::Microseconds> stamp;  // of the board's own clock
};

RowMeans compute_row_means(const jpeg::LumaPlane& plane);

struct Banding {
  double bands = 0;        // in the height of the picture
  double depth = 0;        // amplitude over mean, 0 to 1
  double over_median = 0;  // the spectral line over the median of all lines
};

// Looks for bands in the differences of pictures that follow each other, so that the scene itself drops out.
// pictures: two at least, all of one height (at least 32 rows), borrowed. Nothing when there are none: no
// line of 2 bands or more that stands 6 times above the median of the spectrum and 4 times above its
// neighbours, or shallower than 0.3 %. Bands that stand still from picture to picture are not seen.
// any-thread.
std::optional<Banding> find_banding(std::span<const RowMeans> pictures);

// Mains frequency, or that it cannot be told and why.
struct MainsAnswer {
  std::optional<int> mains_hz;  // 50 or 60
  double light_hz = 0;          // as measured, 0 when it was not
  std::string why;
};

// From the time that the sensor takes to read one picture's rows, where it is known: light = bands / readout;
// within 6 % of 100 or 120 Hz counts. any-thread.
MainsAnswer tell_mains(const Banding& banding, std::chrono::duration<double> readout);

// From the board's own stamps: between two pictures the bands move by light · Δt, exactly. Pictures without a
// stamp are left out. any-thread.
MainsAnswer tell_mains(const Banding& banding, std::span<const RowMeans> pictures);

}  // namespace rookery::vision
