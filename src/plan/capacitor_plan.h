// The inside of the subject "capacitor". For capacitor_*.cpp only.
#pragma once

#include <algorithm>
#include <optional>
#include <string>

#include "base/result.h"
#include "plan/answer.h"
#include "plan/capacitor.h"
#include "plan/field.h"
#include "plan/tolerance.h"

namespace rookery::plan {

struct CapacitorPlan {
  LoadStep step;
  Volts allowed;
  Ohms esr;
  double tolerance = 0;
  Volts voltage;
  std::optional<Ohms> path = std::nullopt;
  // Without tolerances, were nothing fed meanwhile; nothing where its series resistance alone loses too much.
  std::optional<Farads> needed = std::nullopt;
  std::optional<Farads> recommended = std::nullopt;  // nothing when no usual one holds
  Farads size = {};                                  // fitted, or the one to take
  bool fitted = false;
  bool usb_port = false;

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
  // However long the step lasts, what the supply feeds meanwhile is enough: no capacitor is needed for it.
  bool feeds_enough() const { return path && step.current * *path <= allowed; }
  // What falls in no time, and comes back so.
  Volts fall_at_once() const { return fall(size, esr, 0_s); }
};

// An old or a cold electrolytic has more of it, a new one less (common practice, no source).
inline constexpr double kEsrMost = 2;
inline constexpr double kEsrLeast = 0.5;

// How far the pin falls with this size in the worst case.
Volts worst_fall(const CapacitorPlan& plan, Farads size);

// The places of what varies with the capacitor's own tolerances.
inline constexpr std::size_t kSagOutput = 0;
inline constexpr std::size_t kCoveredOutput = 1;
inline constexpr std::size_t kCapacitorOutputs = 2;

// Errors: invalid_value where the values do not go together, with what to change.
base::Result<CapacitorPlan> capacitor_plan(const Values& values);
Spreads capacitor_spreads(const CapacitorPlan& plan);
// The fall against what is allowed, without a remedy.
Limit capacitor_sag(const CapacitorPlan& plan, const Spreads& spreads);
std::string capacitor_drawing(const CapacitorPlan& plan);

}  // namespace rookery::plan
