#include "plan/buck.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace rookery::plan {

// The 40 V kind: reference, input, frequency after the LM2596 datasheet; its losses are those that its
// published volt-seconds give (outside test). The 28 V kind: input after the MP1584 datasheet; reference and
// efficiency from memory; no range of its reference is known here, so that of the 40 V kind is taken. The
// 23 V kind: input after the MP2307 datasheet, reference as quoted by others; no efficiency is known here, so
// that of the 40 V kind is taken. What they need above their output is known of the 40 V kind only, and taken
// for all. What lies around the regulator: 33 µH, 220 µF, 0.1 Ω, 330 Ω and 10 kΩ on usual modules of the 40 V
// kind, common practice, no source; 25 turns by a multi-turn trimmer's data sheet.
std::span<const BuckKind> buck_kinds() {
  static const std::array kKinds = {
      BuckKind{.key = "buck-40",
               .name = "150 kHz, 3 A, 40 V buck module (LM2596 kind)",
               .reference = 1.230_V,
               .reference_least = 1.193_V,
               .reference_most = 1.267_V,
               .input_least = 4.5_V,
               .input_most = 40_V,
               .most = 3_A,
               .frequency = 150_kHz,
               .frequency_least = 127_kHz,
               .efficiency_least = 0.75,
               .efficiency_most = 0.80,
               .headroom = 1.16_V,
               .saturation = 1.16_V,
               .diode = 0.5_V,
               .source = "LM2596 datasheet",
               .efficiency_source = "0.75 to 0.80: below what is computed for 24 V from the LM2596 datasheet",
               .headroom_source = "1.16 V lost in its switch, computed from the LM2596 datasheet's example",
               .module = UsualModule{330_ohm, 10_kohm, 25, 33_uH, 220_uF, 0.1_ohm}},
      BuckKind{.key = "buck-28",
               .name = "100 kHz to 1.5 MHz, 3 A, 28 V buck module (MP1584 kind)",
               .reference = 0.8_V,
               .reference_least = 0.776_V,
               .reference_most = 0.824_V,
               .input_least = 4.5_V,
               .input_most = 28_V,
               .most = 3_A,
               .frequency = 100_kHz,
               .frequency_least = 100_kHz,
               .efficiency_least = 0.80,
               .efficiency_most = 0.85,
               .headroom = 1.16_V,
               .saturation = 0_V,
               .diode = 0.5_V,
               .source = "MP1584 datasheet; its reference from memory, with the range of the 40 V kind",
               .efficiency_source = "0.80 to 0.85, from memory",
               .headroom_source = "1.16 V of the 40 V kind: not known for this kind",
               .module = std::nullopt},
      BuckKind{.key = "buck-23",
               .name = "340 kHz, 3 A, 23 V buck module (MP2307 kind)",
               .reference = 0.925_V,
               .reference_least = 0.900_V,
               .reference_most = 0.950_V,
               .input_least = 4.75_V,
               .input_most = 23_V,
               .most = 3_A,
               .frequency = 340_kHz,
               .frequency_least = 340_kHz,
               .efficiency_least = 0.75,
               .efficiency_most = 0.80,
               .headroom = 1.16_V,
               .saturation = 0_V,
               .diode = 0_V,
               .source = "MP2307 datasheet; its reference as quoted by others",
               .efficiency_source = "0.75 to 0.80 of the 40 V kind: not known for this kind",
               .headroom_source = "1.16 V of the 40 V kind: not known for this kind",
               .module = std::nullopt},
  };
  return kKinds;
}

const BuckKind* find_buck(std::string_view key) {
  const auto all = buck_kinds();
  const auto at = std::find_if(all.begin(), all.end(), [&](const BuckKind& kind) { return kind.key == key; });
  return at == all.end() ? nullptr : &*at;
}

Volts buck_output(Volts reference, Ohms r1, Ohms r2) { return reference * (1.0 + (r2 / r1).value()); }

Ohms upper_resistor(Volts output, Volts reference, Ohms r1) {
  return r1 * ((output / reference).value() - 1.0);
}

Ohms nearest_e96(Ohms wanted) {
  // The series is 10^(n/96) to three digits.
  const double decade = std::floor(std::log10(wanted.value()));
  double best = 0;
  for (int n = 0; n <= 96; ++n) {
    const double value = std::round(std::pow(10.0, n / 96.0) * 100) / 100 * std::pow(10.0, decade);
    if (std::abs(value - wanted.value()) < std::abs(best - wanted.value())) best = value;
  }
  return Ohms::from_value(best);
}

Volts volts_a_turn(Volts reference, Ohms r1, Ohms trimmer, int turns) {
  return reference * (trimmer / r1).value() / static_cast<double>(turns);
}

double duty(Volts input, Volts output, SwitchLosses losses) {
  return ((output + losses.diode) / (input - losses.saturation + losses.diode)).value();
}

VoltSeconds inductor_volt_seconds(Volts input, Volts output, SwitchLosses losses, Hertz frequency) {
  return (input - losses.saturation - output) * duty(input, output, losses) / frequency;
}

Amperes ripple_current(VoltSeconds volt_seconds, Henries inductance) { return volt_seconds / inductance; }

OutputRipple output_ripple(Amperes ripple, Hertz frequency, Farads capacitance, Ohms esr) {
  return {ripple / (8.0 * frequency * capacitance), ripple * esr};
}

RegulatorInput regulator_input(Volts source, Ohms path, Watts power) {
  if (path <= 0_ohm) return {source, power / source};
  // U = Us - R·P/U has two roots; the larger is where a regulator comes to when it is switched on slowly.
  const double under_root = source.value() * source.value() - 4 * path.value() * power.value();
  if (under_root < 0) return {0_V, source / path};
  const Volts arrives = Volts::from_value((source.value() + std::sqrt(under_root)) / 2);
  return {arrives, power / arrives};
}

Amperes input_current(Volts output, Amperes current, Volts input, double efficiency) {
  return output * current / (efficiency * input);
}

Watts converter_heat(Volts output, Amperes current, double efficiency) {
  return output * current * (1 / efficiency - 1);
}

}  // namespace rookery::plan
