// Inner: finds where each block of a scan begins (jpeg/dc_skim.h). For sources of jpeg/ only.
#pragma once

#include <bit>
#include <cstdint>
#include <cstring>

#include "jpeg/skim_tables.h"

namespace rookery::jpeg {

// One block of an MCU: the tables for it, and which one comes next (the last one leads to the first).
struct BlockPlan {
  const SkimTables* tables = nullptr;
  const std::uint16_t* start = nullptr;   // tables->at_start
  const std::uint16_t* inside = nullptr;  // tables->inside
  const std::uint16_t* next_start = nullptr;
  const BlockPlan* next = nullptr;
};

inline std::uint64_t load_big_endian(const std::uint8_t* p) {
  std::uint64_t value;
  std::memcpy(&value, p, sizeof value);
  if constexpr (std::endian::native == std::endian::little) value = __builtin_bswap64(value);
  return value;
}

// Where a walk stands: what it changes with every step. Few enough that two of them fit the registers.
struct SkimState {
  std::uint64_t bits = 0;  // the next ones, the first highest
  // Counted down by entries of SkimTables as they are: bits 0–5 how many of the bits count, bits 10–15 how
  // many coefficients may be passed before the block's last one. Other bits are for what an entry may borrow.
  std::uint32_t left = 0;
  std::uint32_t have = 0;  // bits 0–5 are those of `left`, and known earlier; the others mean nothing
  const std::uint8_t* from = nullptr;    // behind the bytes in `bits`
  const std::uint16_t* table = nullptr;  // block->start or block->inside
  const BlockPlan* block = nullptr;
  // Where blocks begin: at[0] is written, for the block that the walk is in; at[1] may be overwritten.
  // In bits, of the address space, modulo 2³²: differences count.
  std::uint32_t* at = nullptr;
};

// A walk through one restart interval's bits. What is behind `limit` is read too, by up to
// SkimData::kSlack_bytes.
struct SkimLane {
  SkimState state;
  std::uint32_t* until = nullptr;       // the walk pauses when `at` gets here, or one further
  const std::uint8_t* limit = nullptr;  // … when `from` is beyond this: the data has ended
  bool bad = false;                     // … and when a code makes no sense

  bool paused() const { return state.at >= until || state.from > limit || bad; }

  // Sets out at a byte.
  void begin(const std::uint8_t* data, const BlockPlan* first, std::uint32_t* positions);
};

// An address as bits, modulo 2³².
inline std::uint32_t bit_address(const std::uint8_t* p) {
  return static_cast<std::uint32_t>(reinterpret_cast<std::uintptr_t>(p) << 3);
}

// Walks until the lane pauses.
void run(SkimLane& lane);

// Walks both, block by block in turns, until one of them pauses.
void run_both(SkimLane& a, SkimLane& b);

}  // namespace rookery::jpeg
