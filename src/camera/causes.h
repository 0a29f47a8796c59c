// Causes: what most likely lies behind a dropout, how sure that is, on which evidence, and what to do. Pure.
// docs/causes.md explains it and has the measured confusion.
#pragma once

#include <array>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "camera/cause_history.h"
#include "camera/cause_kind.h"
#include "camera/dropout.h"

namespace rookery::camera {

struct RankedCause {
  Cause cause{};
  double probability = 0;
};

struct Ranking {
  std::array<RankedCause, kCauses> causes{};  // the most likely first
  double unexplained = 0;                     // probability that it is none of them: a hiccup of no account
  std::optional<CauseKind> kind;              // the most likely of the first cause
  std::optional<Cause> named;                 // only when it is clear: docs/causes.md says when
  bool restarted = false;                     // the board did, whatever the cause
  std::string verdict;                        // one line for people
  std::string remedy;                         // one sentence for the named cause, or what would help to tell
  std::vector<std::string> evidence;          // with numbers
  KindShares own{};  // on its own clues alone, whatever came before: PastDropout::own
};

// past: others of this camera, in any order: what came before and, when one is ranked again, what came after.
Ranking rank_causes(const Evidence& evidence, base::WallTime began, std::span<const PastDropout> past);

// What is to be remembered of one that was ranked.
PastDropout to_past(base::WallTime began, const Evidence& evidence, const Ranking& ranking);

}  // namespace rookery::camera
