// Inner: a scan's entropy-coded data without its stuffing (jpeg/dc_skim.h). For sources of jpeg/ only.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace rookery::jpeg {

// The data of one scan as plain bits. Memory is kept from picture to picture.
struct SkimData {
  // So many bytes behind the last interval may be read (zeros): more than two blocks can ask for, each at
  // most 64 codes of 16 bits with 11 bits of magnitude.
  static constexpr std::size_t kSlack_bytes = 1024;

  std::vector<std::uint8_t> bytes;
  std::vector<std::size_t> ends;  // of each restart interval, in bytes; it begins where the one before ends
  bool picture_ends = false;      // EOI follows, and not another scan
};

// Takes out the zero behind each 0xFF (T.81 B.1.1.5), and restart markers, whose order walk() has checked.
// jpeg: a picture that walk() accepts; begin: where its scan's data begins.
void read_skim_data(std::span<const std::byte> jpeg, std::size_t begin, SkimData& out);

}  // namespace rookery::jpeg
