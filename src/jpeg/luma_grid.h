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
  // The picture's data was damaged and libjpeg-turbo filled in: usable for showing, not for comparing.
  bool damaged = false;
};

// Decodes only what an eighth needs. jpeg: a picture that walk() accepts, borrowed. out: its memory is
// reused. Errors: what walk() finds (malformed, too_large, unsupported), malformed when the data cannot be
// decoded at all; out is then unspecified. any-thread (one decoder a thread is kept).
//
// Whatever way a grid was made, its cells are those of libjpeg-turbo at 1/8. A baseline picture of one scan
// is skimmed (docs/skimming.md) and only decoded by libjpeg-turbo when the skimmer finds damage; everything
// else is decoded. `damaged` if the skimmer (jpeg/dc_skim.h says what it looks at) or the decoder found some.
base::Result<void> compute_luma_grid(std::span<const std::byte> jpeg, LumaGrid& out);

// The same for two pictures, which need not be alike, in about four fifths of the time that one after the
// other takes. first_out and second_out: not the same grid.
struct LumaGridPair {
  base::Result<void> first;
  base::Result<void> second;
};
LumaGridPair compute_luma_grids(std::span<const std::byte> first, LumaGrid& first_out,
                                std::span<const std::byte> second, LumaGrid& second_out);

}  // namespace rookery::jpeg
