// A make-believe view for tests of the motion detector: still ground with contrast, and what a test puts in.
#pragma once

#include <cmath>
#include <random>

#include "jpeg/luma_grid.h"

namespace rookery::vision::test {

inline constexpr int kWidth = 80;
inline constexpr int kHeight = 60;

// Of one moment.
struct Sight {
  double gain = 1;
  double band = 0;  // of light, share
  double band_phase = 0;
  double x = 0, y = 0, width = 0, height = 0;  // a thing with a pattern of its own, cells
  double faint = 0;                            // it differs from the ground by so many grey levels only
  double lamp = 1;                             // light on the right half
  double shadow = -9;                          // where the middle of a cloud's is, in widths of the picture
  double beam = -9;                            // … of head lights
  double stripe = -9;  // first of four rows that are brighter over half of their width
  double shimmer = 0;  // of their cells, grey levels, on top of the picture's noise
};

class View {
 public:
  explicit View(unsigned seed = 1) : random_(seed) {
    std::uniform_real_distribution<double> rough(-15, 15);
    for (int y = 0; y < kHeight; ++y)
      for (int x = 0; x < kWidth; ++x)
        ground_.push_back(110 + 40 * std::sin(x / 5.0) * std::cos(y / 7.0) + rough(random_));
  }
  double noise = 0.4;  // of a cell, grey levels
  double window = 0;   // brightness of a part of it, grey levels; the sensor clips it at 255

  const jpeg::LumaGrid& see(const Sight& sight) & {
    std::normal_distribution<double> normal(0, noise);
    grid_.width = kWidth;
    grid_.height = kHeight;
    grid_.cells.clear();
    for (int y = 0; y < kHeight; ++y) {
      for (int x = 0; x < kWidth; ++x) {
        double value = ground_[static_cast<std::size_t>(y * kWidth + x)];
        if (x >= sight.x && x < sight.x + sight.width && y >= sight.y && y < sight.y + sight.height)
          value = sight.faint > 0 ? value + (is_odd(x, y, sight) ? sight.faint : -sight.faint)
                                  : (is_odd(x, y, sight) ? 85 : 60);
        if (window > 0 && x >= 10 && x < 40 && y >= 8 && y < 24) value = window;
        value *= sight.gain * (1 + sight.band * std::sin(y * 0.7 + sight.band_phase));
        if (x >= kWidth / 2) value *= sight.lamp;
        if (y >= sight.stripe && y < sight.stripe + 4 && x < 0.56 * kWidth) {
          value *= 1.25;
          if (sight.shimmer > 0) value += sight.shimmer * normal(random_) / noise;
        }
        const double u = (x + 0.5) / kWidth;
        value *= 1 - 0.35 * std::exp(-std::pow((u - sight.shadow) / 0.45, 2));
        value *= 1 + 0.8 * std::exp(-std::pow((u - sight.beam) / 0.3, 2));
        grid_.cells.push_back(
            static_cast<std::uint8_t>(std::clamp(std::round(value + normal(random_)), 0.0, 255.0)));
      }
    }
    return grid_;
  }

 private:
  static bool is_odd(int x, int y, const Sight& sight) {
    return (static_cast<int>(x - sight.x) / 2 + static_cast<int>(y - sight.y) / 2) % 2 != 0;
  }

  std::mt19937 random_;
  std::vector<double> ground_;
  jpeg::LumaGrid grid_;
};

}  // namespace rookery::vision::test
