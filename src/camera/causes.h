// Causes: what most likely lies behind a dropout, how sure that is, on which evidence, and what to do. Pure.
// docs/causes.md explains it and has the measured confusion.
#pragma once

#include <array>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "camera/dropout.h"

namespace rookery::camera {

enum class Cause : std::uint8_t {
  supply,   // power lost, or too low: the board resets
  radio,    // the way through the air to this one board
  hang,     // the board's program, or its heat
  network,  // access point, switch, the board's address
  viewer,   // the board serves somebody else
  sensor,   // the sensor or its ribbon
  station,  // this computer
};
inline constexpr std::size_t kCauses = 7;

// "supply", "radio", …: in the catalog, the API and the command line.
std::string_view name_of(Cause cause);
std::optional<Cause> dropout_cause_of(std::string_view word);
// For people: "supply", "hang or heat", …
std::string_view title_of(Cause cause);

// What kinds of each there are: they look different, and the table knows them apart.
enum class CauseKind : std::uint8_t {
  brown_out,     // supply: too low for a moment
  switched_off,  // supply: gone for long
  fade,          // radio
  watchdog,      // hang: ended by the board's own restart
  frees_itself,  // hang
  until_cycled,  // hang: of the program, until somebody cycles the power
  frozen,        // hang: of everything, until then
  leak,          // hang: a restart after the same time again and again
  access_point,  // network
  moved,         // network: another address
  conflict,      // network: two machines with one address
  viewer,        // viewer
  no_picture,    // sensor: gives none
  bad_picture,   // sensor: gives broken ones
  overload,      // station
  hiccup,        // none of them
};
inline constexpr std::size_t kKinds = 16;
// None for a hiccup.
std::optional<Cause> cause_of(CauseKind kind);

// What is remembered of an earlier dropout of the same camera.
struct PastDropout {
  base::WallTime began{};
  bool restarted = false;
  double streamed_for_s = 0;              // the connection that dropped
  std::optional<double> uptime_before_s;  // the board's own clock when it stopped
  std::optional<double> booted_after_s;   // the gap began
  std::optional<Cause> named;
};

// What the restarts of a camera have in common.
struct RestartPattern {
  int restarts = 0;         // of the last 7 days, this one too
  int fresh = 0;            // of those: within 10 s after a stream began
  int earlier_uptimes = 0;  // of earlier ones in 30 days, over 10 min each
  int same_uptimes = 0;     // of those: within 10 % of this one's
  int booted_at_once = 0;   // earlier ones
  int booted_later = 0;
  int same_time_of_day = 0;  // others within 5 min of this one's time of day, on other days
};

// This restart came after the same time as many earlier ones.
bool is_even(const RestartPattern& pattern);

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
};

// Whether the board started anew during the gap.
bool has_restarted(const Evidence& evidence);
RestartPattern find_pattern(const Evidence& evidence, base::WallTime began,
                            std::span<const PastDropout> past);
// past: earlier ones of this camera, in any order.
Ranking rank_causes(const Evidence& evidence, base::WallTime began, std::span<const PastDropout> past);

// For making the table: which value each clue has. docs/causes.md names them.
inline constexpr std::size_t kClues = 19;
inline constexpr std::size_t kMostValues = 8;
std::array<std::uint8_t, kClues> clues_of(const Evidence& evidence, const RestartPattern& pattern);

}  // namespace rookery::camera
