// Wire against published tables: ASTM B258 (gauges), IEC 60228 (largest resistances), NEC chapter 9 table 8.
#include <gtest/gtest.h>

#include <vector>

#include "plan/unit_text.h"
#include "plan/wire.h"

namespace rookery::plan {
namespace {

SquareMetres gauge(int awg) { return SquareMetres::from_value(awg_area(awg)); }
constexpr double kMetresAKilofoot = 304.8;

// Ω for 1000 ft at 20 °C, as wire makers' tables after ASTM B258 publish them.
TEST(WireTables, GaugesAt20DegreesAfterAstmB258) {
  for (const auto& [awg, ohms] : std::vector<std::pair<int, double>>{{14, 2.525},
                                                                     {16, 4.016},
                                                                     {18, 6.385},
                                                                     {20, 10.15},
                                                                     {22, 16.14},
                                                                     {24, 25.67},
                                                                     {26, 40.81},
                                                                     {28, 64.9}}) {
    const double reckoned =
        resistance_per_metre(gauge(awg), Strands::nominal, 20_C).value() * kMetresAKilofoot;
    EXPECT_NEAR(reckoned / ohms, 1, 0.001) << awg << " AWG";
  }
}

// Ω for 1 km at 20 °C, plain copper. Source: IEC 60228, table 3 (class 5), as quoted by makers; 10 mm² from
// memory; 0.22 mm² is not in the standard: about 96, as makers quote.
TEST(WireTables, FlexibleConductorsAreTheMostThatIec60228Allows) {
  for (const auto& [mm2, ohms] : std::vector<std::pair<double, double>>{{0.22, 96},
                                                                        {0.5, 39.0},
                                                                        {0.75, 26.0},
                                                                        {1.0, 19.5},
                                                                        {1.5, 13.3},
                                                                        {2.5, 7.98},
                                                                        {4, 4.95},
                                                                        {6, 3.30},
                                                                        {10, 1.91},
                                                                        {16, 1.21}}) {
    const auto area = SquareMetres::from_value(mm2 * 1e-6);
    EXPECT_NEAR(resistance_per_metre(area, Strands::flexible, 20_C).value() * 1000 / ohms, 1, 0.001) << mm2;
  }
}

// The same of table 1 and 2 (class 1 and 2), where they differ the larger; 10 mm² from memory.
TEST(WireTables, SolidConductorsAreTheMostThatIec60228Allows) {
  for (const auto& [mm2, ohms] : std::vector<std::pair<double, double>>{{0.5, 36.0},
                                                                        {0.75, 24.5},
                                                                        {1.0, 18.1},
                                                                        {1.5, 12.1},
                                                                        {2.5, 7.41},
                                                                        {4, 4.61},
                                                                        {6, 3.08},
                                                                        {10, 1.83},
                                                                        {16, 1.15}}) {
    const auto area = SquareMetres::from_value(mm2 * 1e-6);
    EXPECT_NEAR(resistance_per_metre(area, Strands::solid, 20_C).value() * 1000 / ohms, 1, 0.001) << mm2;
  }
}

// Ω for 1000 ft at 75 °C, uncoated, solid and stranded. Source: NEC chapter 9, table 8, as quoted by makers.
// Its solid wires are 0.1 % above nominal copper at 75 °C; its stranded ones 2.4 %, inside what "flexible"
// allows.
TEST(WireTables, NecAt75Degrees) {
  struct Row {
    int awg;
    double solid;
    double stranded;
  };
  for (const Row& row : std::vector<Row>{{14, 3.07, 3.14}, {16, 4.89, 4.99}, {18, 7.77, 7.95}}) {
    const double nominal =
        resistance_per_metre(gauge(row.awg), Strands::nominal, 75_C).value() * kMetresAKilofoot;
    EXPECT_NEAR(nominal / row.solid, 1, 0.003) << row.awg;
    const double flexible =
        resistance_per_metre(gauge(row.awg), Strands::flexible, 75_C).value() * kMetresAKilofoot;
    EXPECT_GT(flexible, row.stranded) << row.awg;
  }
}

// Published beside Preece's formula: a wire of 0.0524 in melts at 123 A.
TEST(WireTables, PreecesOwnExample) {
  const double diameter_m = 0.0524 * 0.0254;
  const auto area = SquareMetres::from_value(3.14159265 / 4 * diameter_m * diameter_m);
  EXPECT_NEAR(preece_melting_current(area).value(), 123, 0.5);
}

}  // namespace
}  // namespace rookery::plan
