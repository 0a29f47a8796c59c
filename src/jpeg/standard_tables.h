// Inner: the typical Huffman tables of ITU-T T.81 annex K.3.3, which are meant where a picture brings none,
// as in motion JPEG. For sources of jpeg/ only.
#pragma once

#include <array>

#include "jpeg/skim_tables.h"

namespace rookery::jpeg {

// Table 0 is for luma, table 1 for the colours.
const std::array<HuffmanSpec, 2>& standard_dc_tables();
const std::array<HuffmanSpec, 2>& standard_ac_tables();

}  // namespace rookery::jpeg
