#include "vision/seen_values.h"

#include <algorithm>

namespace rookery::vision {
namespace {

constexpr int kStep = 4;    // grey levels
constexpr int kBeside = 2;  // steps to each side that are alike

}  // namespace

void SeenValues::begin(std::size_t cells) {
  left_.assign(cells * kSteps, 0);
  stills_ = 0;
}

void SeenValues::see(std::span<const std::uint8_t> flat) {
  for (std::size_t i = 0; i < flat.size(); ++i) left_[i * kSteps + flat[i] / kStep] = kAges;
  stills_ = std::min<std::uint32_t>(stills_ + 1, 0xFFFF);
}

void SeenValues::grow_older() {
  for (std::uint8_t& one : left_) one = static_cast<std::uint8_t>(one - (one > 0 ? 1 : 0));
}

CellMask SeenValues::novel(const Cells& flat) const {
  CellMask mask(flat.size());
  for (std::size_t i = 0; i < flat.size(); ++i) {
    const int step = static_cast<int>(std::clamp(flat[i] + 0.5F, 0.0F, 255.0F)) / kStep;
    const auto first = static_cast<std::size_t>(std::max(0, step - kBeside));
    const auto last = std::min(kSteps - 1, static_cast<std::size_t>(step + kBeside));
    std::uint8_t any = 0;
    for (std::size_t k = first; k <= last; ++k) any |= left_[i * kSteps + k];
    mask[i] = any == 0 ? 1 : 0;
  }
  return mask;
}

CellMask solid_part(const CellMask& mask, int width, int height) {
  CellMask out(mask.size(), 0);
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      const auto at = static_cast<std::size_t>(y * width + x);
      if (mask[at] == 0) continue;
      int around = 0;
      for (int row = std::max(0, y - 1); row <= std::min(height - 1, y + 1); ++row) {
        for (int column = std::max(0, x - 1); column <= std::min(width - 1, x + 1); ++column)
          around += mask[static_cast<std::size_t>(row * width + column)];
      }
      out[at] = around >= 5 ? 1 : 0;
    }
  }
  return out;
}

}  // namespace rookery::vision
