#include "vision/job_cells.h"

#include <algorithm>
#include <cmath>

namespace rookery::vision {

Cells box_mean(const Cells& cells, int width, int height, int radius) {
  // Sums of all cells above and to the left.
  const auto stride = static_cast<std::size_t>(width) + 1;
  std::vector<double> sums(stride * (static_cast<std::size_t>(height) + 1), 0.0);
  for (int y = 0; y < height; ++y) {
    double row = 0;
    for (int x = 0; x < width; ++x) {
      row += static_cast<double>(cells[static_cast<std::size_t>(y * width + x)]);
      const std::size_t at = (static_cast<std::size_t>(y) + 1) * stride + static_cast<std::size_t>(x) + 1;
      sums[at] = sums[at - stride] + row;
    }
  }
  Cells out(cells.size());
  for (int y = 0; y < height; ++y) {
    const auto top = static_cast<std::size_t>(std::max(0, y - radius));
    const auto bottom = static_cast<std::size_t>(std::min(height, y + radius + 1));
    for (int x = 0; x < width; ++x) {
      const auto left = static_cast<std::size_t>(std::max(0, x - radius));
      const auto right = static_cast<std::size_t>(std::min(width, x + radius + 1));
      const double sum = sums[bottom * stride + right] - sums[top * stride + right] -
                         sums[bottom * stride + left] + sums[top * stride + left];
      out[static_cast<std::size_t>(y * width + x)] =
          static_cast<float>(sum / static_cast<double>((bottom - top) * (right - left)));
    }
  }
  return out;
}

Cells high_pass(const Cells& cells, int width, int height) {
  Cells out = box_mean(cells, width, height, 3);
  for (std::size_t i = 0; i < out.size(); ++i) out[i] = cells[i] - out[i];
  return out;
}

Cells median_of(std::span<const Cells> pictures) {
  Cells out(pictures.front().size());
  std::vector<float> values(pictures.size());
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  for (std::size_t i = 0; i < out.size(); ++i) {
    for (std::size_t k = 0; k < pictures.size(); ++k) values[k] = pictures[k][i];
    std::nth_element(values.begin(), middle, values.end());
    out[i] = *middle;
  }
  return out;
}

CellMask widened(const CellMask& mask, int width, int height, int radius) {
  Cells cells(mask.begin(), mask.end());
  const Cells near = box_mean(cells, width, height, radius);
  CellMask out(mask.size());
  for (std::size_t i = 0; i < out.size(); ++i) out[i] = near[i] > 0.5e-3F ? 1 : 0;
  return out;
}

CellBox box_of(const CellMask& mask, int width, int height) {
  CellBox box;
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      if (mask[static_cast<std::size_t>(y * width + x)] != 0) box = box.united({x, y, 1, 1});
    }
  }
  return box;
}

std::size_t count_of(const CellMask& mask) {
  return static_cast<std::size_t>(std::count(mask.begin(), mask.end(), std::uint8_t{1}));
}

float news_limit(const Cells& a, const Cells& b, float least) {
  std::vector<float> apart(a.size());
  for (std::size_t i = 0; i < a.size(); ++i) apart[i] = std::fabs(a[i] - b[i]);
  if (apart.empty()) return least;
  const auto middle = apart.begin() + static_cast<std::ptrdiff_t>(apart.size() / 2);
  std::nth_element(apart.begin(), middle, apart.end());
  return std::max(least, 6 * *middle);  // the median of |x| is 0.67 σ
}

Likeness compare(const Cells& a, const Cells& b, const CellMask& mask) {
  double aa = 0, bb = 0, ab = 0, count = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (mask[i] == 0) continue;
    const auto x = static_cast<double>(a[i]);
    const auto y = static_cast<double>(b[i]);
    aa += x * x;
    bb += y * y;
    ab += x * y;
    ++count;
  }
  if (count < 1) return {};
  const double both = std::sqrt(aa * bb);
  return {both > 0 ? ab / both : 0, aa / count, bb / count};
}

}  // namespace rookery::vision
