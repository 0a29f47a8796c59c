#include "vision/noise.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <vector>

namespace rookery::vision {
namespace {

constexpr int kBlock_px = 16;
// Common practice, no source: the flattest quarter; means at which noise of a few levels is not cut off.
constexpr double kFlattest = 0.25;
constexpr double kDarkest = 12;
constexpr double kBrightest = 243;
constexpr double kLeastUsable = 0.05;

struct Block {
  double structure = 0;  // spread of the means of its 4×4 parts, which noise hardly moves
  double mask_sum = 0;
};

// Mean of the block's sixteen parts and how far they differ. The choice must not look at what is measured, or
// it would prefer blocks with little noise.
Block look_at(const std::uint8_t* at, std::size_t width, double& mean) {
  std::array<int, 16> parts{};
  for (int y = 0; y < kBlock_px; ++y) {
    for (int x = 0; x < kBlock_px; ++x)
      parts[static_cast<std::size_t>(y / 4 * 4 + x / 4)] += at[static_cast<std::size_t>(y) * width + x];
  }
  const auto [least, most] = std::minmax_element(parts.begin(), parts.end());
  double sum = 0;
  for (const int part : parts) sum += part;
  mean = sum / (kBlock_px * kBlock_px);
  Block block;
  block.structure = (*most - *least) / 16.0;
  int total = 0;
  for (std::size_t y = 1; y + 1 < kBlock_px; ++y) {
    const std::uint8_t* const row = at + y * width;
    const std::uint8_t* const above = row - width;
    const std::uint8_t* const below = row + width;
    for (std::size_t x = 1; x + 1 < kBlock_px; ++x) {
      total += std::abs(above[x - 1] - 2 * above[x] + above[x + 1] - 2 * row[x - 1] + 4 * row[x] -
                        2 * row[x + 1] + below[x - 1] - 2 * below[x] + below[x + 1]);
    }
  }
  block.mask_sum = total;
  return block;
}

}  // namespace

std::optional<double> compute_noise(const jpeg::LumaPlane& plane) {
  std::vector<Block> usable;
  const auto width = static_cast<std::size_t>(plane.width_px);
  std::size_t all = 0;
  for (int y = 0; y + kBlock_px <= plane.height_px; y += kBlock_px) {
    for (int x = 0; x + kBlock_px <= plane.width_px; x += kBlock_px) {
      double mean = 0;
      const Block block = look_at(plane.pixels.data() + static_cast<std::size_t>(y) * width + x, width, mean);
      ++all;
      if (mean >= kDarkest && mean <= kBrightest) usable.push_back(block);
    }
  }
  if (usable.empty() || static_cast<double>(usable.size()) < kLeastUsable * static_cast<double>(all))
    return std::nullopt;
  const auto flattest =
      static_cast<std::size_t>(std::max(1.0, std::ceil(kFlattest * static_cast<double>(usable.size()))));
  std::nth_element(usable.begin(), usable.begin() + static_cast<std::ptrdiff_t>(flattest - 1), usable.end(),
                   [](const Block& a, const Block& b) { return a.structure < b.structure; });
  double sum = 0;
  for (std::size_t i = 0; i < flattest; ++i) sum += usable[i].mask_sum;
  constexpr double kPerBlock = (kBlock_px - 2) * (kBlock_px - 2);
  return std::sqrt(std::numbers::pi / 2) / 6 * sum / (kPerBlock * static_cast<double>(flattest));
}

}  // namespace rookery::vision
