#include "plan/wire.h"

#include <array>
#include <cmath>

#include "plan/unit_text.h"

namespace rookery::plan {
namespace {

// What IEC 60228 allows above ρ/A. The standard lists 39.0, 26.0 and 19.5 Ω/km for 0.5, 0.75 and 1.0 mm² of
// class 5: each 1.131 times ρ/A. Of class 1 and 2: 36.0, 24.5 and 18.1, up to 1.066 times; the largest is
// taken.
constexpr double kClass5Allowance = 1.1311;
constexpr double kClass2Allowance = 1.0658;

double allowance(Strands strands) {
  switch (strands) {
    case Strands::flexible:
      return kClass5Allowance;
    case Strands::solid:
      return kClass2Allowance;
    case Strands::nominal:
      return 1;
  }
  return kClass5Allowance;
}

constexpr double kMetresAnInch = 0.0254;

double diameter_inches(SquareMetres area) { return std::sqrt(area.value() * 4 / M_PI) / kMetresAnInch; }

// A circular mil is the area of a circle of a thousandth of an inch.
double circular_mils(SquareMetres area) { return std::pow(diameter_inches(area) * 1000, 2); }

double onderdonk_heat(Celsius ambient) {
  constexpr double kMelting = 1083;  // °C, as the formula has it
  return std::log10((kMelting - ambient.degrees) / (234 + ambient.degrees) + 1);
}

}  // namespace

OhmsPerMetre resistance_per_metre(SquareMetres area, Strands strands, Celsius temperature) {
  const double warm = 1 + (kCopperCoefficient * (temperature - 20_C)).value();
  return kCopperResistivity / area * (allowance(strands) * warm);
}

Ohms loop_resistance(SquareMetres area, Metres length, Strands strands, Celsius temperature) {
  return 2.0 * resistance_per_metre(area, strands, temperature) * length;
}

Metres longest_run(SquareMetres area, Strands strands, Celsius temperature, Amperes current, Volts drop) {
  return drop / (2.0 * resistance_per_metre(area, strands, temperature) * current);
}

Amperes preece_melting_current(SquareMetres area) {
  return Amperes::from_value(10244 * std::pow(diameter_inches(area), 1.5));
}

Amperes onderdonk_melting_current(SquareMetres area, Seconds time, Celsius ambient) {
  return Amperes::from_value(circular_mils(area) * std::sqrt(onderdonk_heat(ambient) / (33 * time.value())));
}

Seconds onderdonk_melting_time(SquareMetres area, Amperes current, Celsius ambient) {
  const double mils_an_ampere = circular_mils(area) / current.value();
  return Seconds::from_value(mils_an_ampere * mils_an_ampere * onderdonk_heat(ambient) / 33);
}

Amperes largest_fuse(SquareMetres area) { return preece_melting_current(area) / 12.0; }

std::optional<Amperes> fuse_for(Amperes steady) {
  // Preferred values of fuse links; from memory: the R10 series of ISO 3, as IEC 60127 takes it.
  static constexpr std::array kAmperes = {0.5, 0.63, 0.8, 1.0, 1.25, 1.6, 2.0,
                                          2.5, 3.15, 4.0, 5.0, 6.3,  8.0, 10.0};
  for (const double value : kAmperes) {
    if (steady.value() <= 0.75 * value) return Amperes::from_value(value);
  }
  return std::nullopt;
}

const std::vector<WireSize>& usual_wire_sizes() {
  const auto awg = [](std::string_view name, int gauge) {
    return WireSize{name, SquareMetres::from_value(awg_area(gauge))};
  };
  static const std::vector<WireSize> kSizes = {
      awg("28 AWG", 28), awg("26 AWG", 26),    awg("24 AWG", 24), {"0.22 mm²", 0.22_mm2},
      awg("22 AWG", 22), {"0.5 mm²", 0.5_mm2}, awg("20 AWG", 20), {"0.75 mm²", 0.75_mm2},
      awg("18 AWG", 18), {"1 mm²", 1_mm2},     awg("16 AWG", 16), {"1.5 mm²", 1.5_mm2},
      awg("14 AWG", 14), {"2.5 mm²", 2.5_mm2},
  };
  return kSizes;
}

}  // namespace rookery::plan
