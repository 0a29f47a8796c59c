// Inner: the luma grid of a baseline picture from its DC values alone (docs/skimming.md). For sources of
// jpeg/ only; everybody else calls compute_luma_grid().
#pragma once

#include <cstddef>
#include <span>
#include <utility>

#include "jpeg/luma_grid.h"

namespace rookery::jpeg {

enum class SkimResult {
  done,      // `out` is what libjpeg-turbo makes of it at an eighth, bit for bit, and nothing was amiss
  damaged,   // the data contradicts itself; out.cells are unspecified
  left_out,  // well-formed as far as was looked, but not a kind that is skimmed; out.cells are unspecified
};

// jpeg: a picture that walk() accepts, borrowed. out: its memory is reused; width, height and cells are set,
// `damaged` is not touched. Never reads beyond jpeg. any-thread (its memory is kept a thread).
//
// Damage is: a code that the tables do not hold, or that no 8 bit baseline picture has; a block of more than
// 63 AC coefficients; a DC value beyond what samples of 8 bits can come to; data that ends before the last
// block; 8 bytes or more left behind the last block; another number of restart markers than the size asks
// for. The same holds for each restart interval. A changed bit often passes all of these.
SkimResult skim_luma_grid(std::span<const std::byte> jpeg, LumaGrid& out);

// The same for two pictures, taking turns block by block: the steps of one are done while the other waits
// for its table look-ups. The pictures need not be alike.
struct SkimTask {
  std::span<const std::byte> jpeg;
  LumaGrid* out = nullptr;  // each its own
};
std::pair<SkimResult, SkimResult> skim_luma_grids(const SkimTask& a, const SkimTask& b);

}  // namespace rookery::jpeg
