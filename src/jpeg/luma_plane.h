// The picture at its full size in shades of gray: what measures of sharpness, noise and bands work on.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "base/result.h"

namespace rookery::jpeg {

struct LumaPlane {
  int width_px = 0;
  int height_px = 0;
  std::vector<std::uint8_t> pixels;  // row by row, 0 black to 255 white
  // The picture's data was damaged and libjpeg-turbo filled in: for showing, not for measuring.
  bool damaged = false;

  std::span<const std::uint8_t> row(int y) const& {
    return std::span(pixels).subspan(static_cast<std::size_t>(y) * static_cast<std::size_t>(width_px),
                                     static_cast<std::size_t>(width_px));
  }
  std::span<const std::uint8_t> row(int y) const&& = delete;
};

// Decodes luma only, about seven times the work of a luma grid: for a picture now and then. jpeg: a picture
// that walk() accepts, borrowed. out: its memory is reused. Errors: what walk() finds, malformed when the
// data cannot be decoded at all; out is then unspecified. any-thread (one decoder a thread is kept).
base::Result<void> compute_luma_plane(std::span<const std::byte> jpeg, LumaPlane& out);

}  // namespace rookery::jpeg
