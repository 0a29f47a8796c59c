// Smaller versions of a picture, for viewers that show it small.
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "base/result.h"

namespace rookery::jpeg {

// The widths that are offered. Few, so that one scaling serves all who want about that size.
inline constexpr std::array<int, 4> kSizeSteps_px = {160, 320, 640, 1280};

// The smallest step that is at least want_width_px; nothing when only the original will do (0 or less, or
// wider than the last step). any-thread.
std::optional<int> size_step_for(int want_width_px);

// The picture at the smallest M/8 of its size that is at least want_width_px wide, encoded anew with IJG
// quality 1–100 and the same colour sampling. Nothing when that would be the picture itself: share the
// original then. jpeg: a picture that walk() accepts, borrowed. Colours are never converted, so nothing is
// lost to rounding. Errors: invalid_value (width or quality), what walk() finds, unsupported (unusual colour
// sampling), malformed when the data cannot be decoded. A damaged scan is scaled as the decoder fills it in.
// any-thread (one decoder and one encoder a thread are kept).
base::Result<std::optional<std::vector<std::byte>>> compute_scaled(std::span<const std::byte> jpeg,
                                                                   int want_width_px, int quality);

}  // namespace rookery::jpeg
