#include "vision/lone_pixels.h"

#include <algorithm>

namespace rookery::vision {
namespace {

constexpr int kTimesNeighbours = 2;  // common practice, no source

// 1 above all eight around it, −1 below them, 0 neither.
std::int8_t stands_out(const std::uint8_t* at, std::ptrdiff_t width) {
  const int here = *at;
  // The two beside it rule nearly every pixel out.
  const int beside_most = std::max(at[-1], at[1]);
  const int beside_least = std::min(at[-1], at[1]);
  if (here < beside_most + LonePixels::kStandsOut && here > beside_least - LonePixels::kStandsOut) return 0;
  int most = beside_most;
  int least = beside_least;
  for (const std::ptrdiff_t row : {-width, width}) {
    for (std::ptrdiff_t x = -1; x <= 1; ++x) {
      most = std::max<int>(most, at[row + x]);
      least = std::min<int>(least, at[row + x]);
    }
  }
  // Among detail a single pixel may stand out by right: it has to do so more than its neighbours differ.
  const int enough = std::max(LonePixels::kStandsOut, kTimesNeighbours * (most - least));
  if (here >= most + enough) return 1;
  if (here <= least - enough) return -1;
  return 0;
}

}  // namespace

void LonePixels::add(const jpeg::LumaPlane& plane) {
  if (plane.width_px != width_px_ || plane.height_px != height_px_) {
    width_px_ = plane.width_px;
    height_px_ = plane.height_px;
    pictures_ = 0;
    left_.clear();
  }
  const std::ptrdiff_t width = width_px_;
  ++pictures_;
  if (pictures_ > 1) {
    std::erase_if(left_, [&](const Place& place) {
      return stands_out(plane.pixels.data() + place.at, width) != place.sign;
    });
    return;
  }
  for (int y = 1; y + 1 < height_px_; ++y) {
    for (int x = 1; x + 1 < width_px_; ++x) {
      const auto at = static_cast<std::uint32_t>(y * width_px_ + x);
      const std::int8_t sign = stands_out(plane.pixels.data() + at, width);
      if (sign != 0) left_.push_back({at, sign});
    }
  }
}

std::size_t LonePixels::count(std::int8_t sign) const {
  if (pictures_ < kFewest) return 0;
  return static_cast<std::size_t>(
      std::count_if(left_.begin(), left_.end(), [&](const Place& place) { return place.sign == sign; }));
}

}  // namespace rookery::vision
