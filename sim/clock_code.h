// The wall clock that make-believe boards draw into each picture: digits for people and a strip of light and
// dark cells for programs, so that a test can say when a picture was taken from nothing but its pixels.
//
// Layout. The unit is u = width / 80 (8 px at 640 wide; for other sizes a fraction of a pixel is kept and
// edges are rounded to the nearest pixel). The strip has 2 rows of 28 square cells of 1 u, near the lower
// right corner:
//
//   cell k (0–55):  row r = k / 28, column c = k % 28
//                   left edge (50 + c)·u, upper edge height − (3 − r)·u
//
// so it spans x from 50 u to 78 u and y from height − 3 u to height − 1 u. A light cell (luma about 216) is
// 1, a dark one (luma about 28) is 0. In order of k:
//
//   cells  0– 3   1 0 1 0: how light and how dark cells look here
//   cells  4–47   44 bits, most significant first: milliseconds since 1970-01-01T00:00:00Z
//   cells 48–55   CRC-8 (polynomial x⁸+x²+x+1 = 0x07, start 0, not reflected, no final XOR) over the six
//                 bytes of the 44 bits with four zero bits put before them, most significant byte first
//
// To read: mean luma of the middle half of each cell (from 0.25 u to 0.75 u in both directions); the
// threshold is the mean of the four cells 0–3; cells 0 and 2 must be above it and 1 and 3 below, by at least
// 12 luma steps; then the CRC must agree. Holds for JPEG of quality 60 and for pictures scaled to half the
// size. The digits "YYYY-MM-DD HH:MM:SS.t UTC" stand at the lower left, from 2 u, in the same rows.
#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "base/time.h"
#include "sim/canvas.h"

namespace rookery::sim {

// Draws digits and strip over the lower edge of the picture. `wall` from 1970 to 2527, cut to milliseconds.
void draw_clock(Canvas& canvas, base::WallTime wall);
// The part of a picture of this size that the clock changes.
Region clock_region(Size size);

// The time in a picture of `width` × `height` luma bytes, rows one after another; none when there is no
// readable clock. `gray` holds at least width·height bytes.
std::optional<base::WallTime> read_clock(std::span<const std::uint8_t> gray, int width, int height);

}  // namespace rookery::sim
