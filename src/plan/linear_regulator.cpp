#include "plan/linear_regulator.h"

#include <algorithm>

namespace rookery::plan {

Volts rail_from(const LinearRegulator& regulator, Volts input) {
  return std::clamp(input - regulator.dropout, 0_V, regulator.output);
}

Watts heat_of(const LinearRegulator& regulator, Volts input, Amperes current) {
  // What comes in, less what goes on to the board.
  const Amperes onward = std::max(current - regulator.quiescent, 0_A);
  return input * current - rail_from(regulator, input) * onward;
}

Celsius junction_temperature(Celsius air, Watts heat, KelvinsPerWatt to_air) { return air + heat * to_air; }

}  // namespace rookery::plan
