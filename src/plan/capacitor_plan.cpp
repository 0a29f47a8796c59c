// What was asked of "capacitor", made into one plan, and the size that it recommends.
#include "plan/capacitor_plan.h"

#include <algorithm>

#include <fmt/format.h>

#include "plan/quantity_text.h"

namespace rookery::plan {
namespace {

using base::Error;
using base::ErrorCode;

Verdict verdict_with(CapacitorPlan plan, Farads size) {
  plan.size = size;
  return capacitor_sag(plan, capacitor_spreads(plan)).verdict;
}

// The smallest usual one that holds in the worst case, else in 19 of 20; nothing when none does. On a USB
// port there is the one that it bears.
std::optional<Farads> recommended(const CapacitorPlan& plan) {
  const auto all = usual_capacitors();
  const Farads most = plan.usb_port ? kMostOnUsb : all.back();
  for (const Farads& size : all) {
    if (size >= kLeastAtTheEntry && size <= most && worst_fall(plan, size) <= plan.allowed * (1 - 1e-9))
      return size;
  }
  for (const Farads& size : all) {
    if (size < kLeastAtTheEntry || size > most || plan.fall(size, plan.esr) > plan.allowed) continue;
    if (verdict_with(plan, size) != Verdict::fails) return size;
  }
  return std::nullopt;
}

}  // namespace

Volts worst_fall(const CapacitorPlan& plan, Farads size) {
  // With a supply that feeds meanwhile less resistance may be the worse: the voltage falls faster.
  const Farads least = size * (1 - plan.tolerance);
  return std::max(plan.fall(least, kEsrMost * plan.esr), plan.fall(least, kEsrLeast * plan.esr));
}

Spreads capacitor_spreads(const CapacitorPlan& plan) {
  const double esr = plan.esr.value();
  const std::vector<Tolerance> parameters = {within(plan.size.value(), plan.tolerance),
                                             {esr, kEsrLeast * esr, kEsrMost * esr}};
  return spreads_of(
      parameters, kCapacitorOutputs, [&](std::span<const double> values, std::span<double> outputs) {
        const Farads size = Farads::from_value(values[0]);
        const Ohms resistance = Ohms::from_value(values[1]);
        outputs[kSagOutput] = plan.fall(size, resistance).value();
        outputs[kCoveredOutput] = covered(plan.step.current, plan.allowed, size, resistance).value();
      });
}

Limit capacitor_sag(const CapacitorPlan& plan, const Spreads& spreads) {
  return judged({.key = "sag",
                 .label = "Fall at the board's pin",
                 .kind = Kind::voltage,
                 .value = spreads.nominal[kSagOutput],
                 .bound = plan.allowed.value(),
                 .source = "your own value"},
                spreads.spreads[kSagOutput], 0.01);
}

base::Result<CapacitorPlan> capacitor_plan(const Values& values) {
  CapacitorPlan plan{.step = {values.amperes("step"), values.seconds("duration")},
                     .allowed = values.volts("allowed"),
                     .esr = values.ohms("esr"),
                     .tolerance = values.ratio("tolerance"),
                     .voltage = values.volts("voltage")};
  if (values.has("path")) plan.path = values.ohms("path");
  if (plan.allowed > plan.voltage) {
    return Error(ErrorCode::invalid_value, "capacitor: allowed",
                 fmt::format("a fall of {} from {} leaves less than nothing", values.text("allowed"),
                             values.text("voltage")),
                 "give a smaller `allowed`, or the right `voltage`");
  }
  const auto needed = needed_capacitance(plan.step, plan.allowed, plan.esr);
  // Fed meanwhile, its series resistance does not carry the whole step.
  if (!needed && !plan.path) {
    const Volts lost = plan.step.current * plan.esr;
    return Error(
        ErrorCode::invalid_value, "capacitor: esr",
        fmt::format("the series resistance alone loses {} at {}, and {} are allowed: no size helps",
                    shown(lost), shown(plan.step.current), shown(plan.allowed)),
        fmt::format("take one with less than {}, or several side by side (each adds its capacitance and "
                    "shares the resistance)",
                    shown(plan.allowed / plan.step.current, 2)));
  }
  plan.needed = needed;
  plan.fitted = values.has("fitted");
  plan.usb_port = values.choice("source") == "usb-port";
  plan.recommended = recommended(plan);
  // Where none is enough, what goes farthest is shown.
  const Farads largest = plan.usb_port ? kMostOnUsb : usual_capacitors().back();
  plan.size = plan.fitted ? values.farads("fitted") : plan.recommended.value_or(largest);
  return plan;
}

}  // namespace rookery::plan
