#include "jpeg/skim_tables.h"

#include <algorithm>

namespace rookery::jpeg {
namespace {

constexpr int kWindow_bits = SkimTables::kWindow_bits;

// Two pictures in work have at most six pairs; the rest is for cameras of other makes.
constexpr std::size_t kKeptPairs = 12;

constexpr std::size_t kWindows = std::size_t{1} << kWindow_bits;

// Calls use(code, length, symbol) for every code of the table, in order (T.81 annex C).
template <class Use>
void each_code(const HuffmanSpec& spec, Use use) {
  std::uint32_t code = 0;
  std::size_t place = 0;
  for (int length = 1; length <= 16; ++length, code <<= 1) {
    for (int i = 0; i < spec.counts[static_cast<std::size_t>(length) - 1]; ++i, ++code, ++place) {
      use(code, length, spec.symbols[place]);
    }
  }
}

// The first symbol of each window: as an entry of its own, and where its code ends (0: not to be read).
struct FirstSymbols {
  std::array<std::uint16_t, kWindows> entry{};
  std::array<std::uint8_t, kWindows> code_bits{};

  void set(std::uint32_t code, int length, int bits, int coefficients, bool block_end) {
    const std::size_t count = kWindows >> length;
    const auto value =
        static_cast<std::uint16_t>(coefficients << SkimTables::kAdvanceShift |
                                   (block_end ? SkimTables::kBlockEnd : 0u) | static_cast<unsigned>(bits));
    std::fill_n(entry.begin() + static_cast<std::ptrdiff_t>(code * count), count, value);
    std::fill_n(code_bits.begin() + static_cast<std::ptrdiff_t>(code * count), count,
                static_cast<std::uint8_t>(length));
  }
};

FirstSymbols first_ac_symbols(const HuffmanSpec& spec) {
  FirstSymbols first;
  each_code(spec, [&](std::uint32_t code, int length, int symbol) {
    if (length > kWindow_bits || !is_ac_symbol(symbol)) return;
    const bool block_end = symbol == 0;
    first.set(code, length, length + (symbol & 0x0F), block_end ? 0 : (symbol >> 4) + 1, block_end);
  });
  return first;
}

FirstSymbols first_dc_symbols(const HuffmanSpec& spec) {
  FirstSymbols first;
  each_code(spec, [&](std::uint32_t code, int length, int symbol) {
    if (length <= kWindow_bits && symbol <= kDcSize_bits) first.set(code, length, length + symbol, 0, false);
  });
  return first;
}

// What the AC symbols of the last n bits of a window come to, for every n and every value of these bits:
// the entry for value x stands at 2ⁿ + x, and is 0 when not even one code ends within them. An entry is its
// first symbol's and that of the bits behind it, added up; so all of them take as long as they are many.
class AcSums {
 public:
  explicit AcSums(const FirstSymbols& first) {
    for (int n = 1; n <= kWindow_bits; ++n) {
      for (std::size_t x = 0; x < std::size_t{1} << n; ++x) {
        const std::size_t window = x << (kWindow_bits - n);
        const bool whole = first.code_bits[window] != 0 && first.code_bits[window] <= n;
        sums_[(std::size_t{1} << n) + x] = whole ? with_rest(first.entry[window], n, x) : std::uint16_t{0};
      }
    }
  }

  // The entry of a first symbol, with those behind it in the n bits x.
  std::uint16_t with_rest(std::uint16_t first, int n, std::size_t x) const {
    const int rest = n - static_cast<int>(first & SkimTables::kBits);
    if (rest <= 0 || (first & SkimTables::kBlockEnd) != 0) return first;
    const std::size_t size = std::size_t{1} << rest;
    const std::uint32_t sum = std::uint32_t{first} + sums_[size + (x & (size - 1))];
    // The 63rd coefficient ends the block without a code: a window must not reach over it.
    return sum < SkimTables::kEscape ? static_cast<std::uint16_t>(sum) : first;
  }

  std::uint16_t operator()(std::size_t window) const { return sums_[kWindows + window]; }

 private:
  std::array<std::uint16_t, 2 * kWindows> sums_{};
};

}  // namespace

bool makes_a_code(const HuffmanSpec& spec) {
  std::uint32_t code = 0;
  int symbols = 0;
  for (int length = 1; length <= 16; ++length) {
    const int count = spec.counts[static_cast<std::size_t>(length) - 1];
    code += static_cast<std::uint32_t>(count);
    symbols += count;
    if (count > 0 && code >= 1u << length) return false;
    code <<= 1;
  }
  return symbols <= 256;
}

bool holds_sizes(const HuffmanSpec& spec) {
  return std::all_of(spec.symbols.begin(), spec.symbols.end(), [](int symbol) { return symbol < 16; });
}

CodeReader::CodeReader(const HuffmanSpec& spec) : symbols_(spec.symbols) {
  std::int32_t place = 0;
  each_code(spec, [&](std::uint32_t code, int length, int symbol) {
    const auto l = static_cast<std::size_t>(length);
    if (end_[l] == 0) first_[l] = place - static_cast<std::int32_t>(code);
    end_[l] = (code + 1) << (16 - length);
    ++place;
    if (length > kShort_bits) return;
    const std::size_t count = std::size_t{1} << (kShort_bits - length);
    std::fill_n(short_.begin() + static_cast<std::ptrdiff_t>(code * count), count,
                static_cast<std::uint16_t>(length << 8 | symbol));
  });
}

namespace {

// The DC difference in a window of kDifference_bits, or kLongDifference.
std::int16_t short_difference(const CodeReader& dc, std::uint32_t window) {
  const std::uint64_t bits = std::uint64_t{window} << (64 - SkimTables::kDifference_bits);
  const auto code = dc.read(static_cast<std::uint32_t>(bits >> 48));
  const bool whole = code.length > 0 && code.symbol <= kDcSize_bits &&
                     code.length + code.symbol <= SkimTables::kDifference_bits;
  return whole ? static_cast<std::int16_t>(difference_of(bits, code)) : SkimTables::kLongDifference;
}

}  // namespace

int difference_of(std::uint64_t bits, CodeReader::Code code) {
  const std::uint64_t magnitude = bits << code.length;
  const int value = static_cast<int>(magnitude >> 1 >> (63 - code.symbol));
  const bool negative = magnitude >> 63 == 0;
  return negative ? value + 1 - (1 << code.symbol) : value;
}

CodeReader::Code CodeReader::read_long(std::uint32_t window) const {
  for (std::size_t length = kShort_bits + 1; length <= 16; ++length) {
    if (window >= end_[length]) continue;
    const auto place = static_cast<std::int32_t>(window >> (16 - length)) + first_[length];
    // A window below every code of this length belongs to a shorter one and was found there.
    return {static_cast<int>(length), symbols_[static_cast<std::size_t>(place)]};
  }
  return {};
}

SkimTables::SkimTables(const HuffmanSpec& dc_, const HuffmanSpec& ac_)
    : dc_spec(dc_), ac_spec(ac_), dc(dc_), ac(ac_) {
  const AcSums sums(first_ac_symbols(ac_spec));
  const FirstSymbols starts = first_dc_symbols(dc_spec);
  for (std::size_t window = 0; window < kWindows; ++window) {
    inside[window] = sums(window) != 0 ? sums(window) : kEscape;
    at_start[window] =
        starts.code_bits[window] != 0 ? sums.with_rest(starts.entry[window], kWindow_bits, window) : kEscape;
  }
  for (std::size_t window = 0; window < difference.size(); ++window) {
    difference[window] = short_difference(dc, static_cast<std::uint32_t>(window));
  }
}

std::shared_ptr<const SkimTables> skim_tables(const HuffmanSpec& dc, const HuffmanSpec& ac) {
  // The one asked for last comes first.
  thread_local std::vector<std::shared_ptr<const SkimTables>> kept;
  const auto found = std::find_if(kept.begin(), kept.end(), [&](const auto& tables) {
    return tables->dc_spec == dc && tables->ac_spec == ac;
  });
  if (found != kept.end()) {
    std::rotate(kept.begin(), found, found + 1);
    return kept.front();
  }
  if (!makes_a_code(dc) || !makes_a_code(ac) || !holds_sizes(dc)) return nullptr;
  if (kept.size() == kKeptPairs) kept.pop_back();
  kept.insert(kept.begin(), std::make_shared<const SkimTables>(dc, ac));
  return kept.front();
}

}  // namespace rookery::jpeg
