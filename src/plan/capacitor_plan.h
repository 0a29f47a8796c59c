// The inside of the subject "capacitor". For capacitor_*.cpp only.
#pragma once

#include <algorithm>
#include <optional>
#include <string>

#include "plan/capacitor.h"
#include "plan/tolerance.h"

namespace rookery::plan {

struct CapacitorPlan {
  LoadStep step;
  Volts allowed;
  Ohms esr;
  double tolerance = 0;
  Volts voltage;
  std::optional<Ohms> path = std::nullopt;
  Farads needed = {};  // without tolerances
  Farads size = {};    // fitted, or the one to take
  bool fitted = false;

  // How far the pin has fallen `time` after the step began; the supply feeds meanwhile where its path is
  // known.
  Volts fall(Farads capacitance, Ohms resistance, Seconds time) const {
    const Volts open = path ? sag_with_supply(step.current, time, capacitance, resistance, *path)
                            : sag({step.current, time}, capacitance, resistance);
    return std::min(open, voltage);  // more than all of it cannot fall
  }
  // The same when the step ends.
  Volts fall(Farads capacitance, Ohms resistance) const {
    return fall(capacitance, resistance, step.duration);
  }
  // What falls in no time, and comes back so.
  Volts fall_at_once() const { return fall(size, esr, 0_s); }
};

std::string capacitor_drawing(const CapacitorPlan& plan);

}  // namespace rookery::plan
