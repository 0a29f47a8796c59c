#include "vision/sharpness.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <vector>

#include "vision/spectrum.h"

namespace rookery::vision {
namespace {

// ISO 12233:2014 asks for 4 bins a pixel. The other numbers are ours (common practice, no source).
constexpr int kBinsPerPx = 4;
constexpr int kBoxAcross_px = 48;      // across the edge: both sides of it
constexpr int kBoxAlong_px = 32;       // along it
constexpr double kLeastContrast = 40;  // grey levels
constexpr double kDarkest = 4;         // a side at the end of the scale is cut off, and looks sharper
constexpr double kBrightest = 251;
constexpr double kFlat = 0.12;        // of the contrast: how much a side may vary
constexpr double kStraight_px = 0.5;  // root mean square of the rows' edges about the line
// A pixel that sees its whole width has 0.603 cycles a pixel and no lens gives more; beyond this an edge was
// drawn, or a neighbour of noise was taken for one.
constexpr double kSharpest = 0.8;
constexpr double kSteepest = 0.466;  // px a row, 25°
constexpr double kLeastMove_px = 1;  // over the whole box: all phases of a pixel are seen
constexpr double kNear_px = 16;      // of the edge, in which its place in a row is looked for

// A box of the picture as rows across the edge, whichever way that runs.
class Rows {
 public:
  Rows(const jpeg::LumaPlane& plane, const PixelBox& box, bool upright)
      : pixels_(plane.pixels.data() + static_cast<std::size_t>(box.y_px) * plane.width_px + box.x_px),
        across_(upright ? 1 : plane.width_px),
        along_(upright ? plane.width_px : 1),
        width_(upright ? box.width_px : box.height_px),
        height_(upright ? box.height_px : box.width_px) {}
  int width() const { return width_; }
  int height() const { return height_; }
  double at(int x, int y) const { return pixels_[x * across_ + y * along_]; }

 private:
  const std::uint8_t* pixels_;
  std::ptrdiff_t across_, along_;
  int width_, height_;
};

struct Side {
  double mean = 0;
  double deviation = 0;
};

// The outer sixth of the box on one side.
Side side_of(const Rows& rows, bool right) {
  const int wide = rows.width() / 6;
  const int from = right ? rows.width() - wide : 0;
  double sum = 0;
  double squares = 0;
  for (int y = 0; y < rows.height(); ++y) {
    for (int x = from; x < from + wide; ++x) {
      const double value = rows.at(x, y);
      sum += value;
      squares += value * value;
    }
  }
  const double count = wide * rows.height();
  const double mean = sum / count;
  return {mean, std::sqrt(std::max(0.0, squares / count - mean * mean))};
}

struct Line {
  double at = 0;      // px, in the middle row
  double slope = 0;   // px a row
  double off_px = 0;  // root mean square
};

Line fit(const std::vector<double>& places) {
  const double middle = static_cast<double>(places.size() - 1) / 2;
  Line line;
  double spread = 0;
  for (std::size_t y = 0; y < places.size(); ++y) {
    const double from_middle = static_cast<double>(y) - middle;
    line.at += places[y];
    line.slope += places[y] * from_middle;
    spread += from_middle * from_middle;
  }
  line.at /= static_cast<double>(places.size());
  line.slope /= spread;
  for (std::size_t y = 0; y < places.size(); ++y) {
    const double off = places[y] - line.at - line.slope * (static_cast<double>(y) - middle);
    line.off_px += off * off;
  }
  line.off_px = std::sqrt(line.off_px / static_cast<double>(places.size()));
  return line;
}

double hamming(double from_middle, double half_width) {
  const double part = std::abs(from_middle) / half_width;
  return part >= 1 ? 0 : 0.54 + 0.46 * std::cos(std::numbers::pi * part);
}

// Where each row crosses the edge: the centroid of its derivative, under a window about `line`.
std::optional<Line> locate(const Rows& rows, const Line& line, double half_width, double sign) {
  std::vector<double> places;
  const double middle = (rows.height() - 1) / 2.0;
  for (int y = 0; y < rows.height(); ++y) {
    const double about = line.at + line.slope * (y - middle);
    double weight = 0;
    double moment = 0;
    for (int x = 0; x + 1 < rows.width(); ++x) {
      const double rise = sign * (rows.at(x + 1, y) - rows.at(x, y)) * hamming(x + 0.5 - about, half_width);
      weight += rise;
      moment += rise * (x + 0.5);
    }
    if (weight < kLeastContrast / 4) return std::nullopt;
    places.push_back(moment / weight);
  }
  return fit(places);
}

// The edge's spread in quarter pixels across it; bins that no pixel fell into lie between their neighbours.
std::vector<double> spread_of(const Rows& rows, const Line& line) {
  const double straight =
      1 / std::sqrt(1 + line.slope * line.slope);  // px along the row to px across the edge
  const int half = rows.width() / 2 * kBinsPerPx;
  std::vector<double> sum(static_cast<std::size_t>(2 * half), 0.0);
  std::vector<int> count(sum.size(), 0);
  const double middle = (rows.height() - 1) / 2.0;
  for (int y = 0; y < rows.height(); ++y) {
    const double about = line.at + line.slope * (y - middle);
    for (int x = 0; x < rows.width(); ++x) {
      const int bin = static_cast<int>(std::floor((x - about) * straight * kBinsPerPx)) + half;
      if (bin < 0 || bin >= 2 * half) continue;
      sum[static_cast<std::size_t>(bin)] += rows.at(x, y);
      ++count[static_cast<std::size_t>(bin)];
    }
  }
  double last = 0;
  for (std::size_t i = 0; i < sum.size() && last == 0; ++i) last = count[i] > 0 ? sum[i] / count[i] : 0;
  for (std::size_t i = 0; i < sum.size(); ++i) last = sum[i] = count[i] > 0 ? sum[i] / count[i] : last;
  return sum;
}

// Where the modulation falls to a half.
double mtf50_of(const std::vector<double>& spread) {
  std::vector<double> line_spread(spread.size(), 0.0);
  double total = 0;
  double centre = 0;
  for (std::size_t i = 1; i + 1 < spread.size(); ++i) {
    line_spread[i] = (spread[i + 1] - spread[i - 1]) / 2;
    total += line_spread[i];
    centre += line_spread[i] * static_cast<double>(i);
  }
  centre = total == 0 ? static_cast<double>(spread.size()) / 2 : centre / total;
  for (std::size_t i = 0; i < spread.size(); ++i)
    line_spread[i] *= hamming(static_cast<double>(i) - centre, static_cast<double>(spread.size()) / 2);
  const double whole = std::abs(compute_line(line_spread, 0));
  double before = 1;
  constexpr int kSteps = 256;
  constexpr double kStep = 1.0 / kSteps;  // cycles a pixel
  for (int step = 1; step <= kSteps; ++step) {
    const double f = step * kStep;
    // What the central difference and the bin's own width take off at this frequency.
    const double angle = 2 * std::numbers::pi * f / kBinsPerPx;
    const double response = std::sin(angle) / angle * (std::sin(angle / 2) / (angle / 2));
    const double here = std::abs(compute_line(line_spread, f / kBinsPerPx)) / whole / std::max(response, 0.1);
    if (here <= 0.5) return f - kStep * (0.5 - here) / std::max(before - here, 1e-9);
    before = here;
  }
  return 1;
}

// Cheap enough for every box: both sides flat, and apart.
bool may_hold_edge(const Rows& rows) {
  const Side left = side_of(rows, false);
  const Side right = side_of(rows, true);
  const double contrast = std::abs(left.mean - right.mean);
  return contrast >= kLeastContrast && std::min(left.mean, right.mean) >= kDarkest &&
         std::max(left.mean, right.mean) <= kBrightest &&
         std::max(left.deviation, right.deviation) <= kFlat * contrast;
}

}  // namespace

double compute_laplacian_variance(const jpeg::LumaPlane& plane) {
  if (plane.width_px < 3 || plane.height_px < 3) return 0;
  const auto width = static_cast<std::size_t>(plane.width_px);
  std::int64_t sum = 0;
  std::int64_t squares = 0;
  for (int y = 1; y + 1 < plane.height_px; ++y) {
    const std::uint8_t* const line = plane.pixels.data() + static_cast<std::size_t>(y) * width;
    std::int32_t row_sum = 0;
    std::int64_t row_squares = 0;
    for (std::size_t x = 1; x + 1 < width; ++x) {
      const int value = line[x - 1] + line[x + 1] + line[x + width] + *(line + x - width) - 4 * line[x];
      row_sum += value;
      row_squares += value * value;
    }
    sum += row_sum;
    squares += row_squares;
  }
  const double count = static_cast<double>(width - 2) * (plane.height_px - 2);
  const double mean = static_cast<double>(sum) / count;
  return static_cast<double>(squares) / count - mean * mean;
}

std::optional<SlantedEdge> measure_edge(const jpeg::LumaPlane& plane, const PixelBox& box, bool upright) {
  const Rows rows(plane, box, upright);
  if (rows.width() < 12 || rows.height() < 8 || !may_hold_edge(rows)) return std::nullopt;
  const double contrast = side_of(rows, true).mean - side_of(rows, false).mean;
  const double sign = contrast > 0 ? 1 : -1;
  // The first window takes in the whole row, the second what is near the edge.
  const auto coarse = locate(rows, Line{(rows.width() - 1) / 2.0, 0, 0}, rows.width() / 2.0, sign);
  if (!coarse) return std::nullopt;
  const auto line = locate(rows, *coarse, kNear_px, sign);
  if (!line || line->off_px > kStraight_px || std::abs(line->slope) > kSteepest ||
      std::abs(line->slope) * rows.height() < kLeastMove_px) {
    return std::nullopt;
  }
  const double ends = std::abs(line->slope) * rows.height() / 2 + rows.width() / 6.0;
  if (line->at < ends || line->at > rows.width() - ends) return std::nullopt;
  SlantedEdge edge;
  edge.mtf50_cycles_per_px = mtf50_of(spread_of(rows, *line));
  if (edge.mtf50_cycles_per_px > kSharpest) return std::nullopt;
  edge.slant_degrees = std::atan(std::abs(line->slope)) * 180 / std::numbers::pi;
  edge.contrast = std::abs(contrast);
  edge.upright = upright;
  edge.box = box;
  return edge;
}

std::optional<SlantedEdge> find_slanted_edge(const jpeg::LumaPlane& plane) {
  std::optional<SlantedEdge> best;
  for (const bool upright : {true, false}) {
    const int wide = upright ? kBoxAcross_px : kBoxAlong_px;
    const int high = upright ? kBoxAlong_px : kBoxAcross_px;
    for (int y = 0; y + high <= plane.height_px; y += high / 2) {
      for (int x = 0; x + wide <= plane.width_px; x += wide / 2) {
        const auto edge = measure_edge(plane, PixelBox{x, y, wide, high}, upright);
        if (edge && (!best || edge->mtf50_cycles_per_px > best->mtf50_cycles_per_px)) best = edge;
      }
    }
  }
  return best;
}

}  // namespace rookery::vision
