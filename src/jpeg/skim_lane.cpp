#include "jpeg/skim_lane.h"

namespace rookery::jpeg {
namespace {

constexpr int kWindowShift = 64 - SkimTables::kWindow_bits;
constexpr std::uint32_t kHave = SkimTables::kBits;
constexpr std::uint32_t kWholeBlock = 62u << SkimTables::kAdvanceShift;

// At least 56 bits count afterwards. No branch: bytes that are there already are read again and are the same.
[[gnu::always_inline]] inline void refill(SkimState& s) {
  s.bits |= load_big_endian(s.from) >> (s.have & kHave);
  s.from += (~s.have & kHave) >> 3;
  s.left |= 56;
}

[[gnu::always_inline]] inline std::uint32_t position(const SkimState& s) {
  return bit_address(s.from) - (s.left & kHave);
}

// Goes on to the end of the block one code at a time: where a window could reach over the end of a block that
// has its 63rd coefficient, where a code is longer than a window, and where one is wrong. A block behind the
// last one that is asked for stays as it is: it may be padding, or another restart interval's.
[[gnu::noinline, gnu::cold]] void finish_block(SkimLane& lane) {
  SkimState& s = lane.state;
  if (s.at >= lane.until) return;
  const SkimTables& tables = *s.block->tables;
  const std::uint8_t* p = s.from - 8;
  std::uint32_t offset = 64 - (s.left & kHave);  // bits behind p
  std::uint32_t k = 62 - (s.left >> SkimTables::kAdvanceShift);
  const auto pass_code = [&](const CodeReader& reader) {
    const auto window = load_big_endian(p + (offset >> 3)) << (offset & 7);
    const auto code = reader.read(static_cast<std::uint32_t>(window >> 48));
    offset += static_cast<std::uint32_t>(code.length + (code.symbol & 0x0F));
    lane.bad |= code.length == 0;
    return code.symbol;
  };
  if (s.table == s.block->start) lane.bad |= pass_code(tables.dc) > kDcSize_bits;
  while (k < 63 && !lane.bad) {
    const int symbol = pass_code(tables.ac);
    if (symbol == 0) break;
    lane.bad |= !is_ac_symbol(symbol);
    k += static_cast<std::uint32_t>(symbol >> 4) + 1;
  }
  lane.bad |= k > 63;
  p += offset >> 3;
  s.bits = load_big_endian(p) << (offset & 7);
  s.left = s.have = kWholeBlock | (56 - (offset & 7));
  s.from = p + 7;
  *++s.at = position(s);
  s.table = s.block->next_start;
  s.block = s.block->next;
}

// Has the value in a register now, so that what follows selects between values instead of loading from a
// selected address, which would add a load to every step's latency.
template <class T>
[[gnu::always_inline]] inline T loaded(T value) {
  asm("" : "+r"(value));
  return value;
}

// A condition to select by, not to jump by.
[[gnu::always_inline]] inline bool unpredictable(bool condition) {
#ifdef __clang__
  return __builtin_unpredictable(condition);
#else
  return __builtin_expect_with_probability(condition, 1, 0.5);
#endif
}

// Passes the symbols of one window. Nothing in it jumps by the data, so nothing is mispredicted: at the end
// of a block the next table is selected.
[[gnu::always_inline]] inline void step(SkimState& s, SkimLane& lane) {
  const std::uint32_t entry = s.table[s.bits >> kWindowShift];
  std::uint32_t left = 0;
  if (__builtin_sub_overflow(s.left, entry, &left)) [[unlikely]] {
    lane.state = s;
    finish_block(lane);
    s = lane.state;
    return;
  }
  const bool block_end = (entry & SkimTables::kBlockEnd) != 0;
  const auto* const next_start = loaded(s.block->next_start);
  const auto* const inside = loaded(s.block->inside);
  const auto* const next = loaded(s.block->next);
  s.bits <<= entry & SkimTables::kBits;
  s.have = left;
  s.left = unpredictable(block_end) ? (left & kHave) | kWholeBlock : left;
  s.at[1] = position(s);
  s.at += loaded(entry) >> SkimTables::kBlockEndShift & 1;
  s.table = unpredictable(block_end) ? next_start : inside;
  s.block = unpredictable(block_end) ? next : s.block;
}

}  // namespace

void SkimLane::begin(const std::uint8_t* data, const BlockPlan* first, std::uint32_t* positions) {
  state = {.left = kWholeBlock, .from = data, .table = first->start, .block = first, .at = positions};
  *positions = bit_address(data);
  bad = false;
}

// The state is copied: a copy whose address nobody takes stays in registers. A step takes at most 12 + 11
// bits, so two go between refills.
void run(SkimLane& lane) {
  SkimState s = lane.state;
  while (s.at < lane.until && s.from <= lane.limit && !lane.bad) {
    refill(s);
    step(s, lane);
    step(s, lane);
  }
  lane.state = s;
}

void run_both(SkimLane& a, SkimLane& b) {
  SkimState s = a.state;
  SkimState t = b.state;
  while (s.at < a.until && t.at < b.until && s.from <= a.limit && t.from <= b.limit && !a.bad && !b.bad) {
    refill(s);
    refill(t);
    step(s, a);
    step(t, b);
    step(s, a);
    step(t, b);
  }
  a.state = s;
  b.state = t;
}

}  // namespace rookery::jpeg
