// The "quality" on the scale of the Independent JPEG Group that a quantization table amounts to.
#pragma once

#include <array>
#include <cstdint>
#include <optional>

namespace rookery::jpeg {

// One quantization table; the order (zigzag or natural) does not matter here.
using QuantTable = std::array<std::uint16_t, 64>;

// Sum of the luma or chroma table that IJG quality 1–100 gives: t = clamp((b·s + 50)/100, 1, 255) with
// s = 5000/q below 50, 200 − 2q from there, and b from ITU-T T.81 tables K.1 and K.2.
int ijg_luma_sum(int quality);
int ijg_chroma_sum(int quality);

// The quality whose luma table has the sum nearest to this one's; the better of two equally near. Nothing
// when the table is unlike any on the scale (a zero in it, or a sum over that of quality 1). A sensor's own
// "quality" 0–63 is another scale. any-thread.
std::optional<int> estimate_ijg_quality(const QuantTable& luma);

}  // namespace rookery::jpeg
