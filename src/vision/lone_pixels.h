// LonePixels: pixels of the sensor that are always bright (hot) or always dark (dead), whatever they look at.
#pragma once

#include <cstdint>
#include <vector>

#include "jpeg/luma_plane.h"

namespace rookery::vision {

// strand-bound. A lens spreads a point of light over more than one pixel; a single pixel far above (below)
// all eight around it, by more than twice what those differ, in every picture, is the sensor's. A glint in a
// sharp picture can still look like one.
class LonePixels {
 public:
  static constexpr int kStandsOut = 24;      // grey levels (common practice, no source)
  static constexpr std::size_t kFewest = 5;  // pictures before anything is said

  // One more picture. One of another size begins anew.
  void add(const jpeg::LumaPlane& plane);

  std::size_t pictures() const { return pictures_; }
  // Those that stood out in every picture; 0 before kFewest pictures.
  std::size_t hot() const { return count(1); }
  std::size_t dead() const { return count(-1); }

 private:
  struct Place {
    std::uint32_t at;
    std::int8_t sign;
  };
  std::size_t count(std::int8_t sign) const;

  int width_px_ = 0;
  int height_px_ = 0;
  std::size_t pictures_ = 0;
  std::vector<Place> left_;  // stood out in every picture so far
};

}  // namespace rookery::vision
