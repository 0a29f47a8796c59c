#include "plan/capacitor.h"

#include <array>
#include <cmath>

namespace rookery::plan {

std::optional<Farads> needed_capacitance(LoadStep step, Volts allowed, Ohms esr) {
  const Volts left = allowed - step.current * esr;
  if (left <= 0_V) return std::nullopt;
  return step.current * step.duration / left;
}

Volts sag(LoadStep step, Farads capacitance, Ohms esr) {
  return step.current * esr + step.current * step.duration / capacitance;
}

Volts sag_with_supply(Amperes current, Seconds time, Farads capacitance, Ohms esr, Ohms path) {
  if (path <= 0_ohm) return 0_V;
  // At first the capacitor's resistance and the path share the step; then the path takes over.
  const Seconds constant = (path + esr) * capacitance;
  const double gone = std::exp(-(time / constant).value());
  return current * path * (1.0 - (path / (path + esr)).value() * gone);
}

Seconds covered(Amperes current, Volts allowed, Farads capacitance, Ohms esr) {
  const Volts left = allowed - current * esr;
  if (left <= 0_V) return 0_s;
  return left * capacitance / current;
}

std::span<const Farads> usual_capacitors() {
  static const std::array kSizes = {10_uF,   22_uF,   47_uF,   100_uF,  220_uF,  330_uF,  470_uF,  680_uF,
                                    1000_uF, 1500_uF, 2200_uF, 3300_uF, 4700_uF, 6800_uF, 10000_uF};
  return kSizes;
}

std::optional<Volts> usual_rating(Volts voltage) {
  static const std::array kRatings = {6.3_V, 10_V, 16_V, 25_V, 35_V, 50_V, 63_V};
  for (const Volts& rating : kRatings) {
    if (rating >= 1.5 * voltage) return rating;
  }
  return std::nullopt;
}

}  // namespace rookery::plan
