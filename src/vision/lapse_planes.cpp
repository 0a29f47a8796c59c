// What levelling reads from planes, and what it does to them.
#include <algorithm>
#include <array>
#include <cmath>

#include "jpeg/luma_plane.h"
#include "vision/lapse_levels.h"
#include "vision/noise.h"

namespace rookery::vision {
namespace {

constexpr int kMostColumns = 40;
constexpr int kMostRows = 120;
constexpr int kColourColumns = 20;
constexpr int kColourRows = 15;
// Where noise cannot be told (nearly all of it is black or white), it is taken for that of a dark picture.
constexpr double kUnknownNoise = 4;
// From here on the scale bends, so that white stays white.
constexpr double kKnee = 0.9;

struct Range {
  double black = 0;
  double white = 255;
  double colour = 1;  // of a full-range colour's distance from grey
};
Range range_of(const PictureView& picture) {
  return picture.full_range ? Range{} : Range{16, 235, 224.0 / 255};
}

// Means over columns×rows parts of the plane, each (mean − zero)·factor.
std::vector<float> means_of(const PlaneView& plane, int columns, int rows, double zero, double factor) {
  std::vector<float> out;
  std::vector<std::uint32_t> sums(static_cast<std::size_t>(columns));
  for (int r = 0; r < rows; ++r) {
    const int from = r * plane.height / rows;
    const int to = (r + 1) * plane.height / rows;
    std::ranges::fill(sums, 0U);
    for (int y = from; y < to; ++y) {
      const std::uint8_t* row = plane.row(y);
      for (int c = 0; c < columns; ++c) {
        std::uint32_t sum = 0;
        for (int x = c * plane.width / columns; x < (c + 1) * plane.width / columns; ++x) sum += row[x];
        sums[static_cast<std::size_t>(c)] += sum;
      }
    }
    for (int c = 0; c < columns; ++c) {
      const int width = (c + 1) * plane.width / columns - c * plane.width / columns;
      const double mean = static_cast<double>(sums[static_cast<std::size_t>(c)]) / (width * (to - from));
      out.push_back(static_cast<float>((mean - zero) * factor));
    }
  }
  return out;
}

using Table = std::array<std::uint8_t, 256>;

Table luma_table(double gain, const Range& range) {
  Table table{};
  const double span = range.white - range.black;
  for (std::size_t value = 0; value < table.size(); ++value) {
    const double level = (static_cast<double>(value) - range.black) / span;
    double out = level * gain;
    // One straight line to the knee of whichever scale has it lower, another from there to white.
    const double knee = std::min(kKnee, kKnee / gain);
    if (level > knee && level < 1) out = knee * gain + (level - knee) / (1 - knee) * (1 - knee * gain);
    if (level >= 1 || level <= 0) out = level;
    table[value] = static_cast<std::uint8_t>(std::clamp(std::lround(range.black + out * span), 0L, 255L));
  }
  return table;
}

Table colour_table(double gain, double shift) {
  Table table{};
  for (std::size_t value = 0; value < table.size(); ++value) {
    const double out = 128 + (static_cast<double>(value) - 128) * gain + shift;
    table[value] = static_cast<std::uint8_t>(std::clamp(std::lround(out), 0L, 255L));
  }
  return table;
}

void apply(const Table& table, const PlaneView& plane, int from, int to) {
  for (int y = from; y < to; ++y) {
    std::uint8_t* row = plane.row(y);
    for (int x = 0; x < plane.width; ++x) row[x] = table[row[x]];
  }
}

}  // namespace

base::Result<LevelSample> sample_levels(const PictureView& picture, bool coarse) {
  const PlaneView& luma = picture.luma;
  if (luma.data == nullptr || luma.width < 8 || luma.height < 8)
    return base::Error{base::ErrorCode::invalid_value, "levels",
                       fmt::format("a picture of {}×{} samples is too small", luma.width, luma.height)};
  const Range range = range_of(picture);
  LevelSample out;
  out.columns = std::min(kMostColumns, luma.width);
  out.rows = std::min(coarse ? kMostRows / 4 : kMostRows, luma.height);
  out.cells = means_of(luma, out.columns, out.rows, range.black, 255 / (range.white - range.black));
  const bool colour = picture.blue.data != nullptr && picture.red.data != nullptr &&
                      std::min(picture.blue.width, picture.red.width) > 0 &&
                      std::min(picture.blue.height, picture.red.height) > 0;
  if (colour) {
    const int columns =
        std::min({coarse ? kColourColumns / 2 : kColourColumns, picture.blue.width, picture.red.width});
    const int rows =
        std::min({coarse ? kColourRows / 2 : kColourRows, picture.blue.height, picture.red.height});
    out.blue = means_of(picture.blue, columns, rows, 128, 1 / range.colour);
    out.red = means_of(picture.red, columns, rows, 128, 1 / range.colour);
  }
  jpeg::LumaPlane plane;
  plane.width_px = luma.width;
  plane.height_px = luma.height;
  for (int y = 0; y < luma.height; ++y)
    plane.pixels.insert(plane.pixels.end(), luma.row(y), luma.row(y) + luma.width);
  out.noise = compute_noise(plane).value_or(kUnknownNoise);
  return out;
}

void apply_levels(const LevelCorrection& correction, const PictureView& picture) {
  const Range range = range_of(picture);
  const auto parts = static_cast<int>(std::max<std::size_t>(1, correction.rows.size()));
  const int height = picture.luma.height;
  for (int part = 0; part < parts; ++part) {
    const double row =
        correction.rows.empty() ? 1 : static_cast<double>(correction.rows[static_cast<std::size_t>(part)]);
    const double gain = correction.gain * row;
    if (gain == 1) continue;
    apply(luma_table(gain, range), picture.luma, part * height / parts, (part + 1) * height / parts);
  }
  const auto colour = [&](const PlaneView& plane, double shift) {
    if (plane.data == nullptr || (correction.gain == 1 && shift == 0)) return;
    apply(colour_table(correction.gain, shift * range.colour), plane, 0, plane.height);
  };
  colour(picture.blue, correction.blue_shift);
  colour(picture.red, correction.red_shift);
}

}  // namespace rookery::vision
