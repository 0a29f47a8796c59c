// Inner: Huffman tables for skimming (jpeg/dc_skim.h). For sources of jpeg/ only.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <memory>

namespace rookery::jpeg {

// One Huffman table as a DHT segment holds it (ITU-T T.81 B.2.4.2).
struct HuffmanSpec {
  std::array<std::uint8_t, 16> counts{};    // codes of 1 to 16 bits
  std::array<std::uint8_t, 256> symbols{};  // in the order of their codes; zero behind the last

  bool operator==(const HuffmanSpec&) const = default;
};

// True if the counts make a code: every code fits its length and none is all ones (T.81 annex C).
bool makes_a_code(const HuffmanSpec& spec);

// True if every symbol is a size, as in a table for DC. libjpeg-turbo refuses others, whether they occur or
// not.
bool holds_sizes(const HuffmanSpec& spec);

// One code at a time.
class CodeReader {
 public:
  struct Code {
    int length = 0;  // bits; 0: no code of this table begins so
    int symbol = 0;
  };

  // spec: makes_a_code().
  explicit CodeReader(const HuffmanSpec& spec);

  // window: the next 16 bits, the first one highest.
  Code read(std::uint32_t window) const {
    const std::uint16_t entry = short_[window >> (16 - kShort_bits)];
    if (entry != 0) return {entry >> 8, entry & 0xFF};
    return read_long(window);
  }

 private:
  // Codes of up to 9 bits, all DC codes of the usual tables, take one step.
  static constexpr int kShort_bits = 9;

  Code read_long(std::uint32_t window) const;

  std::array<std::uint16_t, 1 << kShort_bits> short_{};  // length << 8 | symbol; 0: longer, or none
  std::array<std::uint32_t, 17> end_{};   // one past the last code of a length, as a window of 16 bits
  std::array<std::int32_t, 17> first_{};  // place of a length's symbol less its code
  std::array<std::uint8_t, 256> symbols_{};
};

// The DC difference that these bits, the first highest, begin with (T.81 F.2.2.1). code: what a reader of DC
// codes finds there, its symbol being at most 15.
int difference_of(std::uint64_t bits, CodeReader::Code code);

// The largest sizes of 8 bit baseline pictures (T.81 tables F.1 and F.2); larger ones are damage.
inline constexpr int kDcSize_bits = 11;
inline constexpr int kAcSize_bits = 10;

// True for run and size of a coefficient, for sixteen zeros and for the end of the block (T.81 F.1.2.2).
constexpr bool is_ac_symbol(int symbol) {
  const int size = symbol & 0x0F;
  return size == 0 ? symbol == 0x00 || symbol == 0xF0 : size <= kAcSize_bits;
}

// For one component: what the next kWindow_bits bits say, as many whole symbols at a time as begin there.
// An entry: bits 0–5 the bits to skip (code and magnitude bits, which may reach past the window), bit 8 set
// at the end of the block, bits 10–15 by how many coefficients the symbols go on. kEscape: not to be read
// off the window (a code longer than it, one that is none, or one that a baseline picture does not have).
struct SkimTables {
  // 12: two 8 KiB tables for luma and two for colour fit a first-level cache of 32 KiB just so; measured
  // against 11 and 13.
  static constexpr int kWindow_bits = 12;
  static constexpr std::uint32_t kBits = 0x3F;
  static constexpr std::uint32_t kBlockEnd = 0x100;
  static constexpr int kBlockEndShift = 8;
  static constexpr int kAdvanceShift = 10;
  static constexpr std::uint16_t kEscape = 63 << kAdvanceShift;
  using Table = std::array<std::uint16_t, 1 << kWindow_bits>;

  // DC differences by a window of their own, wide enough for those up to ±63 in the usual tables.
  static constexpr int kDifference_bits = 11;
  static constexpr std::int16_t kLongDifference =
      std::numeric_limits<std::int16_t>::min();  // to be read with `dc`

  // Both specs: makes_a_code().
  SkimTables(const HuffmanSpec& dc, const HuffmanSpec& ac);

  HuffmanSpec dc_spec;
  HuffmanSpec ac_spec;
  CodeReader dc;
  CodeReader ac;
  Table at_start;  // at the beginning of a block: the DC code, and AC symbols behind it
  Table inside;    // AC symbols
  std::array<std::int16_t, 1 << kDifference_bits> difference;
};

// The tables for the pair of specs; kept by their content, for the calling thread, since a camera sends the
// same ones with every picture. Null if one of them makes no code or
// `dc` holds more than sizes. any-thread.
std::shared_ptr<const SkimTables> skim_tables(const HuffmanSpec& dc, const HuffmanSpec& ac);

}  // namespace rookery::jpeg
