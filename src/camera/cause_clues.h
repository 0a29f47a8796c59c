// Which value each clue of a dropout has, for the table of likelihoods. Pure.
#pragma once

#include <array>
#include <cstdint>

#include "camera/cause_history.h"
#include "camera/dropout.h"

namespace rookery::camera {

// In the order of the table.
enum class Clue : std::uint8_t {
  old_connection,
  retries,
  restart,
  reach,
  others,
  link_before,
  own_reader,
  burst,
  broken,
  exposure,
  age,
  length,
  warmth,
  place,
  announced,
  booted,
  evenness,     // of restarts: uneven, the only other one after the same time, even
  time_of_day,  // of restarts: any, the same
};
inline constexpr std::size_t kClues = 18;
inline constexpr std::size_t kMostValues = 8;
// 0: not known, or implied by another clue; it weighs nothing.
using Clues = std::array<std::uint8_t, kClues>;

// Whether the board started anew during the gap.
bool has_restarted(const Evidence& evidence);
// What the dropout tells by itself.
Clues clues_of(const Evidence& evidence);
// The same, and what its restart has in common with others.
Clues clues_of(const Evidence& evidence, const RestartPattern& pattern);

}  // namespace rookery::camera
