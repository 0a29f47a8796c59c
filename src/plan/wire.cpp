#include "plan/wire.h"

#include <array>
#include <cmath>
#include <span>

#include "plan/unit_text.h"

namespace rookery::plan {
namespace {

// The most that IEC 60228 allows at 20 °C, plain copper, Ω/km; 0.22 mm² is not in the standard, and makers
// quote about 96.
struct Allowed {
  double mm2;
  double ohms_a_km;
};
constexpr std::array kFlexible = std::to_array<Allowed>({{0.22, 96},
                                                         {0.5, 39.0},
                                                         {0.75, 26.0},
                                                         {1, 19.5},
                                                         {1.5, 13.3},
                                                         {2.5, 7.98},
                                                         {4, 4.95},
                                                         {6, 3.30},
                                                         {10, 1.91},
                                                         {16, 1.21}});
constexpr std::array kSolid = std::to_array<Allowed>({{0.5, 36.0},
                                                      {0.75, 24.5},
                                                      {1, 18.1},
                                                      {1.5, 12.1},
                                                      {2.5, 7.41},
                                                      {4, 4.61},
                                                      {6, 3.08},
                                                      {10, 1.83},
                                                      {16, 1.15}});

double above_copper(const Allowed& row) {
  return row.ohms_a_km * row.mm2 / (kCopperResistivity.value() * 1e9);
}

// How much more than ρ/A a conductor may have: as published at the sizes that are; between two of them what
// lies between.
double allowance_of(std::span<const Allowed> table, double mm2) {
  if (mm2 <= table.front().mm2) return above_copper(table.front());
  for (std::size_t i = 1; i < table.size(); ++i) {
    if (mm2 > table[i].mm2) continue;
    const double way = std::log(mm2 / table[i - 1].mm2) / std::log(table[i].mm2 / table[i - 1].mm2);
    return std::lerp(above_copper(table[i - 1]), above_copper(table[i]), way);
  }
  return above_copper(table.back());
}

double allowance(Strands strands, SquareMetres area) {
  const double mm2 = area.value() * 1e6;
  switch (strands) {
    case Strands::flexible:
      return allowance_of(kFlexible, mm2);
    case Strands::solid:
      return allowance_of(kSolid, mm2);
    case Strands::nominal:
      return 1;
  }
  return allowance_of(kFlexible, mm2);
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
  return kCopperResistivity / area * (allowance(strands, area) * warm);
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
