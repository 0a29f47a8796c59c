// LightField: how light that has no edges lies on a picture: the shadow of a cloud, a lamp to one side, the
// sun coming round a corner.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace rookery::vision {

// The share by which each cell is brighter than expected, as a surface of third degree over the picture: no
// thing has that shape. It is followed from picture to picture, so that what moves has little say in it: a
// thing is there at once, a cloud comes slowly.
class LightField {
 public:
  // Of one size of picture, in cells.
  void begin(int width, int height);
  // The picture itself is learned anew: there is no other light.
  void clear() { terms_.fill(0); }
  // Moves towards what leaves the least of now − (1 + field) × expected, both in grey levels, one value a
  // cell.
  void follow(std::span<const float> expected, std::span<const std::uint8_t> now);
  // 1 + field of a row's cells.
  void row(int y, std::span<float> factors) const;

 private:
  static constexpr int kDegree = 3;
  static constexpr std::size_t kTerms = 9;  // u^a·v^b with 1 ≤ a + b ≤ 3: the exposure has the constant
  using Row = std::array<double, 2 * kDegree + 1>;

  struct Sums {
    std::array<std::array<double, kTerms>, kTerms> all{};
    std::array<double, kTerms> wanted{};
  };
  void add_row(int y, std::span<const float> expected, std::span<const std::uint8_t> now, Sums& sums) const;

  int width_ = 0;
  int height_ = 0;
  std::vector<float> powers_;  // u^0 … u^6, each for all columns
  std::array<double, kTerms> terms_{};
};

}  // namespace rookery::vision
