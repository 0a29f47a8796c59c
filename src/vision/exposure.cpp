#include "vision/exposure.h"

#include <algorithm>
#include <cmath>
#include <vector>

namespace rookery::vision {
namespace {

constexpr std::uint8_t kDark = 8;  // the same bounds as for a camera's health
constexpr std::uint8_t kBright = 250;
// Common practice, no source.
constexpr double kWithin = 0.05;
constexpr double kWithinLevels = 3;
constexpr std::size_t kFewest = 10;
constexpr double kUpsideDownRatio = 1.6;
constexpr double kUpsideDownLevels = 30;

double mean_of_rows(const jpeg::LumaGrid& grid, int from, int to) {
  double sum = 0;
  for (int y = from; y < to; ++y) {
    for (int x = 0; x < grid.width; ++x) sum += grid.cells[static_cast<std::size_t>(y) * grid.width + x];
  }
  return to > from && grid.width > 0 ? sum / ((to - from) * grid.width) : 0;
}

}  // namespace

Clipping compute_clipping(const jpeg::LumaGrid& grid) {
  Clipping out;
  if (grid.cells.empty()) return out;
  std::size_t dark = 0;
  std::size_t bright = 0;
  std::uint64_t sum = 0;
  for (const std::uint8_t cell : grid.cells) {
    dark += cell < kDark ? 1U : 0U;
    bright += cell > kBright ? 1U : 0U;
    sum += cell;
  }
  const auto count = static_cast<double>(grid.cells.size());
  out.dark = static_cast<double>(dark) / count;
  out.bright = static_cast<double>(bright) / count;
  out.mean = static_cast<double>(sum) / count;
  return out;
}

std::optional<std::chrono::duration<double>> settled_after(std::span<const LevelAt> levels) {
  if (levels.size() < kFewest) return std::nullopt;
  std::vector<double> last;
  for (std::size_t i = levels.size() * 2 / 3; i < levels.size(); ++i) last.push_back(levels[i].level);
  const auto middle = last.begin() + static_cast<std::ptrdiff_t>(last.size() / 2);
  std::nth_element(last.begin(), middle, last.end());
  const double end = *middle;
  const double within = std::max(kWithinLevels, kWithin * end);
  std::size_t first = levels.size();
  while (first > 0 && std::abs(levels[first - 1].level - end) <= within) --first;
  if (first + 1 >= levels.size()) return std::nullopt;
  return levels[first].since;
}

UprightHint judge_upright(double upper, double lower) {
  return {upper, lower, lower >= kUpsideDownRatio * upper && lower - upper >= kUpsideDownLevels};
}

UprightHint hint_upright(const jpeg::LumaGrid& grid) {
  return judge_upright(mean_of_rows(grid, 0, grid.height / 3),
                       mean_of_rows(grid, grid.height - grid.height / 3, grid.height));
}

}  // namespace rookery::vision
