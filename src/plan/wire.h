// Copper wire: what a run loses, how long it may be, and where a fuse has to stand so that it never gets hot.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "plan/units.h"

namespace rookery::plan {

// How a conductor is made; decides how much more it may have than ρ/A.
enum class Strands {
  flexible,  // IEC 60228 class 5, the most resistance that the standard allows
  solid,     // IEC 60228 class 1 and 2, the most that it allows
  nominal,   // copper of the full cross-section: what the tables of gauges state (ASTM B258)
};

// Resistivity of annealed copper at 20 °C, and its temperature coefficient. Source: IEC 60028, NBS Handbook
// 100.
inline const OhmMetres kCopperResistivity = OhmMetres::from_value(0.017241e-6);
inline const PerKelvin kCopperCoefficient = PerKelvin::from_value(0.00393);

// Of a run's resistance, for an answer.
inline constexpr std::string_view kCopperSource =
    "IEC 60228 for class 1, 2 and 5 (0.5 to 1 mm² as quoted by others, larger ones from memory); ASTM B258 "
    "for "
    "gauges; IEC 60028 for copper";

// The resistance of one conductor a metre. −60 to 150 °C.
OhmsPerMetre resistance_per_metre(SquareMetres area, Strands strands, Celsius temperature);

// A run of `length` one way: two conductors, there and back.
Ohms loop_resistance(SquareMetres area, Metres length, Strands strands, Celsius temperature);

// The longest run, one way, that loses at most `drop` at `current` (more than zero).
Metres longest_run(SquareMetres area, Strands strands, Celsius temperature, Amperes current, Volts drop);

// Where a round wire melts, in free air. Source: Preece, I = 10244·d^1.5 with d in inches. Never a rating.
Amperes preece_melting_current(SquareMetres area);

// Where a wire melts when it carries the current for `time` and gives no heat away. Source: Onderdonk. Never
// a rating.
Amperes onderdonk_melting_current(SquareMetres area, Seconds time, Celsius ambient);
// How long a wire lasts at `current`, by the same formula.
Seconds onderdonk_melting_time(SquareMetres area, Amperes current, Celsius ambient);

// The largest fuse for a wire: a twelfth of what melts it (Preece). From memory: NEC 240.4(D) allows 7 A for
// 18 AWG and 10 A for 16 AWG, which is that.
Amperes largest_fuse(SquareMetres area);

inline constexpr std::string_view kFuseSource =
    "a twelfth of what melts the wire (Preece): common practice, which comes to the 7 A and 10 A of NEC "
    "240.4(D), from memory";

// The smallest usual fuse that a steady current uses to at most 75 % (common practice, no source). Values of
// the R10 series, 0.5 to 10 A. Nothing when the current needs more than 10 A.
std::optional<Amperes> fuse_for(Amperes steady);

// Usual sizes, thinnest first.
struct WireSize {
  std::string_view name;  // "22 AWG", "0.5 mm²"
  SquareMetres area;
};
const std::vector<WireSize>& usual_wire_sizes();

}  // namespace rookery::plan
