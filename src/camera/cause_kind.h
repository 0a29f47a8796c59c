// The causes that a dropout may have, and the kinds of each.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

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

// How likely each kind is, by CauseKind; the sum is 1, or 0 where nothing is known.
using KindShares = std::array<double, kKinds>;
// Of one cause's kinds together.
double share_of(Cause cause, const KindShares& shares);

}  // namespace rookery::camera
