// Adjustable step-down (buck) regulators: how they are set, what they take from the source, their heat and
// their ripple.
#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "plan/units.h"

namespace rookery::plan {

using VoltSeconds = decltype(Volts() * Seconds());

// What usual modules of a kind have around their regulator.
struct UsualModule {
  Ohms r1;       // between feedback and ground
  Ohms trimmer;  // stands for R2
  int turns = 0;
  Henries inductance;
  Farads output_capacitor;
  Ohms output_esr;
};

// A kind of regulator that usual modules carry.
struct BuckKind {
  std::string_view key;   // the person's word: "buck-40"
  std::string_view name;  // what it is
  Volts reference;        // at its feedback pin
  Volts reference_least;  // over line, load, temperature and specimens
  Volts reference_most;
  Volts input_least;
  Volts input_most;
  Amperes most;  // that it can give
  Hertz frequency;
  Hertz frequency_least;
  double efficiency_least;  // from 24 V or 12 V to about 5 V, at a camera's currents
  double efficiency_most;
  Volts headroom;           // what its input must be above its output
  Volts saturation;         // lost in its switch; nothing where it is not known
  Volts diode;              // lost in the diode that carries the current meanwhile
  std::string_view source;  // of these values but the efficiency and the headroom
  std::string_view efficiency_source;
  std::string_view headroom_source;
  std::optional<UsualModule> module;  // nothing where it is not known here
};

// All kinds known, the most robust first.
std::span<const BuckKind> buck_kinds();
// Null when there is none of that key.
const BuckKind* find_buck(std::string_view key);

// Vout = Vref · (1 + R2/R1): R2 lies between output and feedback, R1 between feedback and ground.
Volts buck_output(Volts reference, Ohms r1, Ohms r2);
// R2 for an output of at least the reference.
Ohms upper_resistor(Volts output, Volts reference, Ohms r1);
// The nearest value of the E96 series (1 % resistors, IEC 60063).
Ohms nearest_e96(Ohms wanted);

// How finely a multi-turn trimmer can be set, as a share of the voltage across it. Source: its data sheet.
inline constexpr double kTrimmerAdjustability = 1e-4;
// What one turn of a trimmer that stands for R2 changes.
Volts volts_a_turn(Volts reference, Ohms r1, Ohms trimmer, int turns);

// What the switch and the diode lose; nothing in the ideal regulator.
struct SwitchLosses {
  Volts saturation = 0_V;
  Volts diode = 0_V;
};

// The share of a period for which the switch is closed: D = (Vout + VD) / (Vin − VSAT + VD). At 1 and above
// the input is too low.
double duty(Volts input, Volts output, SwitchLosses losses);
// The voltage on the coil times the time that it lasts, in one period: (Vin − VSAT − Vout) · D / f.
VoltSeconds inductor_volt_seconds(Volts input, Volts output, SwitchLosses losses, Hertz frequency);
// ΔIL, peak to peak, while the coil's current never ends (continuous mode).
Amperes ripple_current(VoltSeconds volt_seconds, Henries inductance);

struct OutputRipple {
  Volts charging;                                           // ΔIL / (8 f C)
  Volts resistance;                                         // ΔIL · ESR
  Volts together() const { return charging + resistance; }  // peak to peak, no less than the true sum
};
OutputRipple output_ripple(Amperes ripple, Hertz frequency, Farads capacitance, Ohms esr);

// What arrives at a regulator that takes `power` through `path` from `source`, and the current that flows:
// it takes the more current the less arrives. Nothing arrives when the path cannot carry that power, as when
// it were shorted.
struct RegulatorInput {
  Volts arrives;
  Amperes current;
};
RegulatorInput regulator_input(Volts source, Ohms path, Watts power);

// What the regulator takes from `input` while it gives `current` at `output`.
Amperes input_current(Volts output, Amperes current, Volts input, double efficiency);
// What it turns into heat.
Watts converter_heat(Volts output, Amperes current, double efficiency);

}  // namespace rookery::plan
