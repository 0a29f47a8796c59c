#include "sim/clock_code.h"

#include <array>
#include <cmath>

namespace rookery::sim {
namespace {

constexpr int kCells = 56;
constexpr int kColumns = 28;
constexpr int kTimeBits = 44;
constexpr float kLight = 216;
constexpr float kDark = 28;
constexpr float kLeastContrast = 12;

using Bits = std::array<bool, kCells>;

std::uint8_t crc8(std::uint64_t value) {
  std::uint8_t crc = 0;
  for (int byte = 5; byte >= 0; --byte) {
    crc = static_cast<std::uint8_t>(crc ^ ((value >> (8 * byte)) & 0xFF));
    for (int i = 0; i < 8; ++i) crc = static_cast<std::uint8_t>((crc << 1) ^ ((crc & 0x80) != 0 ? 0x07 : 0));
  }
  return crc;
}

Bits encode(std::uint64_t milliseconds) {
  Bits bits{true, false, true, false};
  for (int i = 0; i < kTimeBits; ++i)
    bits[static_cast<std::size_t>(4 + i)] = ((milliseconds >> (kTimeBits - 1 - i)) & 1) != 0;
  const std::uint8_t crc = crc8(milliseconds);
  for (int i = 0; i < 8; ++i) bits[static_cast<std::size_t>(4 + kTimeBits + i)] = ((crc >> (7 - i)) & 1) != 0;
  return bits;
}

struct Cell {
  float x;
  float y;
};
Cell cell_at(int k, float unit, int height) {
  return {(50 + static_cast<float>(k % kColumns)) * unit,
          static_cast<float>(height) - (3 - static_cast<float>(k / kColumns)) * unit};
}

void paint_cell(Picture& p, Cell cell, float unit, bool light) {
  const int x0 = static_cast<int>(std::lround(cell.x));
  const int x1 = static_cast<int>(std::lround(cell.x + unit));
  const int y1 = static_cast<int>(std::lround(cell.y + unit));
  for (int y = static_cast<int>(std::lround(cell.y)); y < y1; ++y) {
    for (int x = x0; x < x1; ++x) {
      p.y[static_cast<std::size_t>(y * p.size.width + x)] = static_cast<std::uint8_t>(light ? kLight : kDark);
      p.u[static_cast<std::size_t>(y * p.half() + x / 2)] = 128;
      p.v[static_cast<std::size_t>(y * p.half() + x / 2)] = 128;
    }
  }
}

// A dark, see-through foot for the digits and the strip to stand on.
void darken_foot(Picture& p, float unit) {
  const int from = p.size.height - static_cast<int>(std::lround(4 * unit));
  for (int y = from; y < p.size.height; ++y) {
    const float down = static_cast<float>(y - from) / unit;
    const int keep = static_cast<int>(256 - 136 * std::min(1.0F, down));
    std::uint8_t* const line = &p.y[static_cast<std::size_t>(y * p.size.width)];
    for (int x = 0; x < p.size.width; ++x) line[x] = static_cast<std::uint8_t>((line[x] * keep) >> 8);
  }
}

}  // namespace

void draw_clock(Canvas& canvas, base::WallTime wall) {
  Picture& p = canvas.picture();
  const float unit = static_cast<float>(p.size.width) / 80;
  darken_foot(p, unit);
  const auto ms = std::chrono::floor<std::chrono::milliseconds>(wall).time_since_epoch().count();
  const Bits bits = encode(static_cast<std::uint64_t>(ms));
  for (int k = 0; k < kCells; ++k)
    paint_cell(p, cell_at(k, unit, p.size.height), unit, bits[static_cast<std::size_t>(k)]);
  std::string text = base::to_rfc3339(wall);  // YYYY-MM-DDTHH:MM:SS.mmmZ
  text = text.substr(0, 10) + " " + text.substr(11, 10) + " UTC";
  const float height = unit * 1.5F;
  canvas.text({2 * unit, static_cast<float>(p.size.height) - 2.75F * unit}, height, text, ink(236, 232, 220));
}

Region clock_region(Size size) {
  const int top = static_cast<int>(
      std::floor(static_cast<float>(size.height) - 3.0F / 80 * static_cast<float>(size.width)));
  return {0, top, size.width, size.height - top};
}

std::optional<base::WallTime> read_clock(std::span<const std::uint8_t> gray, int width, int height) {
  const float unit = static_cast<float>(width) / 80;
  if (width < 160 || height < 4 * unit ||
      gray.size() < static_cast<std::size_t>(width) * static_cast<std::size_t>(height))
    return std::nullopt;
  std::array<float, kCells> level{};
  for (int k = 0; k < kCells; ++k) {
    const Cell cell = cell_at(k, unit, height);
    const int x0 = static_cast<int>(std::lround(cell.x + 0.25F * unit));
    const int x1 = std::max(x0 + 1, static_cast<int>(std::lround(cell.x + 0.75F * unit)));
    const int y0 = static_cast<int>(std::lround(cell.y + 0.25F * unit));
    const int y1 = std::max(y0 + 1, static_cast<int>(std::lround(cell.y + 0.75F * unit)));
    int sum = 0;
    for (int y = y0; y < y1; ++y) {
      for (int x = x0; x < x1; ++x)
        sum +=
            gray[static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x)];
    }
    level[static_cast<std::size_t>(k)] = static_cast<float>(sum) / static_cast<float>((x1 - x0) * (y1 - y0));
  }
  const float threshold = (level[0] + level[1] + level[2] + level[3]) / 4;
  for (int k = 0; k < 4; ++k) {
    const float off = (level[static_cast<std::size_t>(k)] - threshold) * (k % 2 == 0 ? 1.0F : -1.0F);
    if (off < kLeastContrast) return std::nullopt;
  }
  std::uint64_t ms = 0;
  std::uint8_t crc = 0;
  for (int k = 4; k < kCells; ++k) {
    const bool bit = level[static_cast<std::size_t>(k)] > threshold;
    if (k < 4 + kTimeBits) {
      ms = (ms << 1) | (bit ? 1U : 0U);
    } else {
      crc = static_cast<std::uint8_t>((crc << 1) | (bit ? 1 : 0));
    }
  }
  if (crc != crc8(ms)) return std::nullopt;
  return base::WallTime(std::chrono::milliseconds(ms));
}

}  // namespace rookery::sim
