// Inner: the markers of a JPEG file. For sources of jpeg/ only.
#pragma once

#include <cstdint>

namespace rookery::jpeg {

// Markers, ITU-T T.81 table B.1.
enum : std::uint8_t {
  kSof0 = 0xC0,  // baseline
  kSof1 = 0xC1,  // extended sequential
  kSof2 = 0xC2,  // progressive
  kDht = 0xC4,
  kJpg = 0xC8,
  kDac = 0xCC,
  kSof15 = 0xCF,
  kRst0 = 0xD0,
  kRst7 = 0xD7,
  kSoi = 0xD8,
  kEoi = 0xD9,
  kSos = 0xDA,
  kDqt = 0xDB,
  kDnl = 0xDC,
  kDri = 0xDD,
  kDhp = 0xDE,
  kExp = 0xDF,
  kApp0 = 0xE0,
  kApp14 = 0xEE,  // Adobe's: which colours the components are
  kApp15 = 0xEF,
  kCom = 0xFE,
};

}  // namespace rookery::jpeg
