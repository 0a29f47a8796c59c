// The picture at an eighth of its size, in shades of gray: what vision/ works on.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "base/result.h"

namespace rookery::jpeg {

struct LumaGrid {
  int width = 0;                    // cells: ⌈width_px / 8⌉
  int height = 0;                   // cells: ⌈height_px / 8⌉
  std::vector<std::uint8_t> cells;  // row by row, 0 black to 255 white; the mean of each 8×8 block
  // The picture's data was damaged and the decoder filled in: usable for showing, not for comparing.
  bool damaged = false;
};

// Decodes only what an eighth needs. jpeg: a picture that walk() accepts, borrowed. out: its memory is
// reused. Errors: what walk() finds (malformed, too_large, unsupported), malformed when the data cannot be
// decoded at all; out is then unspecified. any-thread (one decoder a thread is kept).
base::Result<void> compute_luma_grid(std::span<const std::byte> jpeg, LumaGrid& out);

}  // namespace rookery::jpeg
