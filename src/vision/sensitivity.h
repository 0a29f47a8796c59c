// Sensitivity: how small a thing counts as motion.
#pragma once

namespace rookery::vision {

// 1, coarse, to 5, fine.
struct Sensitivity {
  static constexpr int kCoarsest = 1;
  static constexpr int kMiddle = 3;
  static constexpr int kFinest = 5;
  int step = kMiddle;

  // Smallest moving region, as a share of the picture: 2 %, 1 %, 0.4 %, 0.2 %, 0.1 %.
  double least_share() const;
  // What a cell's change must exceed, in multiples of its usual one (90th percentile): 4, 3, 2.5, 2.2, 2.
  double noise_margin() const;

  bool operator==(const Sensitivity&) const = default;
};

}  // namespace rookery::vision
