// The board's own linear 3.3 V regulator (1117 family): what it needs, what it gives, how hot it gets.
#pragma once

#include "plan/units.h"

namespace rookery::plan {

struct LinearRegulator {
  Volts output = 3.3_V;
  Volts dropout = 1.3_V;      // what its input must be above its output
  Amperes quiescent = 11_mA;  // what it takes for itself, and turns into heat
};

// Values of the family. Source: quoted from data sheets by third parties, the output's range from memory.
// Dropout at 0.8 A, which is more than at less current.
namespace regulator_1117 {
inline const Volts kDropoutTypical = 1.1_V;
inline const Volts kDropoutMost = 1.3_V;
inline const Volts kOutputLeast = 3.201_V;
inline const Volts kOutputMost = 3.399_V;
inline const Amperes kQuiescentTypical = 5_mA;
inline const Amperes kQuiescentMost = 11_mA;
inline const Amperes kCurrentLimitLeast = 0.9_A;  // to 1.5 A
inline const Volts kInputMost = 15_V;
inline const KelvinsPerWatt kJunctionToCase = KelvinsPerWatt::from_value(15);
inline const KelvinsPerWatt kJunctionToAirLeast = KelvinsPerWatt::from_value(46);  // on a large copper area
inline const KelvinsPerWatt kJunctionToAirMost = KelvinsPerWatt::from_value(90);   // on a small board
}  // namespace regulator_1117

// What the inside of such a part, linear or buck, may reach: usual, from memory.
inline constexpr Celsius kJunctionMost{125};

// Below this input the output follows the input.
inline Volts input_needed(const LinearRegulator& regulator) { return regulator.output + regulator.dropout; }

// What it gives from `input`: its own voltage, or input − dropout, never less than nothing.
Volts rail_from(const LinearRegulator& regulator, Volts input);

// What it turns into heat while `current` flows into its input.
Watts heat_of(const LinearRegulator& regulator, Volts input, Amperes current);

// The temperature inside a part that turns `heat` into warmth.
Celsius junction_temperature(Celsius air, Watts heat, KelvinsPerWatt to_air);

}  // namespace rookery::plan
