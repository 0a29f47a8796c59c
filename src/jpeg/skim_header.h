// Inner: reads of a picture's header what skimming needs (jpeg/dc_skim.h). For sources of jpeg/ only.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>

#include "jpeg/skim_tables.h"

namespace rookery::jpeg {

// A baseline picture of one scan, as far as its luma grid is concerned.
struct SkimHeader {
  int width_px = 0;
  int height_px = 0;
  int mcus_across = 0;
  int mcus_down = 0;
  int restart_interval = 0;  // MCUs, 0 without
  int luma_across = 1;       // luma blocks in an MCU, which come first in it, row by row
  int luma_down = 1;
  int blocks = 1;                  // in an MCU, all components; 1 to 10
  int luma_q0 = 1;                 // quantization of luma's DC; 1 to kMaxQ0
  int components = 1;              // 1 or 3
  std::array<int, 3> blocks_of{};  // in an MCU
  std::array<std::shared_ptr<const SkimTables>, 3> tables;
  std::size_t scan_begin = 0;  // where the entropy-coded data begins
};

// A baseline picture's table has 8 bits; those of 16 bits are taken as far as libjpeg's arithmetic stays
// clear.
inline constexpr int kMaxQ0 = 2047;

// jpeg: a picture that walk() accepts, borrowed. Nothing if it is of a kind that is left to libjpeg-turbo:
// progressive, several scans, tables broken or missing (but the standard Huffman tables need not be sent),
// RGB, luma that is sampled less than a colour.
std::optional<SkimHeader> read_skim_header(std::span<const std::byte> jpeg);

}  // namespace rookery::jpeg
