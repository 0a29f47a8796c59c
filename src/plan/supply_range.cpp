// Which set points hold in the worst case, and which limit ends them on each side.
#include <algorithm>
#include <array>

#include "plan/safe_side.h"
#include "plan/supply_plan.h"

namespace rookery::plan {
namespace {

constexpr std::string_view kPin = "the pin at its peak";
constexpr std::string_view kBoard = "the board's pin asleep";

using Outputs = std::array<double, static_cast<std::size_t>(SupplyOutput::count)>;

double of(const Outputs& outputs, SupplyOutput output) { return outputs[static_cast<std::size_t>(output)]; }

// One of the sum's corners: each parameter at the end that is worse for what a high set point brings.
// `least_wire`: for the heat on the board, where a good wire is the worse; else for what the source has to
// give.
Outputs at_corner(const SupplyPlan& plan, const std::vector<Tolerance>& parameters, bool least_wire,
                  bool most_current) {
  std::array<double, static_cast<std::size_t>(SupplyParameter::count)> values{};
  for (std::size_t i = 0; i < values.size(); ++i) {
    const auto parameter = static_cast<SupplyParameter>(i);
    const bool low =
        parameter == SupplyParameter::source_voltage || parameter == SupplyParameter::efficiency ||
        parameter == SupplyParameter::regulated ||
        (least_wire && (parameter == SupplyParameter::wire || parameter == SupplyParameter::contacts)) ||
        (!most_current && parameter == SupplyParameter::current_factor);
    values[i] = low ? parameters[i].low : parameters[i].high;
  }
  Outputs outputs{};
  plan.reckon(values, outputs);
  return outputs;
}

// The limit that a set point breaks from above; empty when none.
std::string_view broken(SupplyPlan plan, const std::vector<Tolerance>& parameters, Volts set) {
  plan.set_point = set;
  if (set * (1 + plan.set_spread) > plan.board_most) return kBoard;
  for (const bool most : {false, true}) {
    if (of(at_corner(plan, parameters, true, most), SupplyOutput::linear_junction) > kJunctionMost.degrees)
      return "the heat in the board's regulator";
  }
  const Outputs hungry = at_corner(plan, parameters, false, true);
  if (of(hungry, SupplyOutput::buck_junction) > kJunctionMost.degrees)
    return "the heat in the buck regulator";
  if (of(hungry, SupplyOutput::regulator_input) < plan.input_needed_at_regulator().value())
    return "what arrives at the regulator";
  const double taken = of(hungry, SupplyOutput::source_steady);
  if (plan.source.gives && taken > plan.source.gives->value()) return "what the source gives";
  const auto fuse = fuse_for(Amperes::from_value(taken));
  if (!fuse || *fuse > largest_fuse(plan.feed_size)) return "the fuse at the source";
  return {};
}

}  // namespace

SetPointSpan SupplyPlan::range(SquareMetres wire_size) const {
  SupplyPlan other = *this;
  other.size = wire_size;
  const std::vector<Tolerance> parameters = other.parameters();
  const SetPointRange by_voltage = set_points(bounds(wire_size));
  SetPointSpan out{.least = by_voltage.least, .most = 0_V, .lower = kPin, .upper = {}};
  // Each of these limits is broken from some set point on.
  Volts holds = 0_V;
  Volts breaks = std::max(board_most, buck->reference);
  out.upper = broken(other, parameters, breaks);
  if (out.upper.empty()) holds = breaks;
  for (int i = 0; i < 40 && breaks - holds > 1e-6_V; ++i) {
    const Volts middle = 0.5 * (holds + breaks);
    const std::string_view why = broken(other, parameters, middle);
    if (why.empty()) {
      holds = middle;
    } else {
      breaks = middle;
      out.upper = why;
    }
  }
  if (out.upper.empty()) out.upper = kBoard;
  // A narrow span may take a digit more.
  for (const int digits : {3, 4}) {
    out.digits = digits;
    out.least = Volts::from_value(shown_at_least(by_voltage.least.value(), Kind::voltage, digits));
    if (holds > 1_mV) out.most = Volts::from_value(shown_at_most(holds.value(), Kind::voltage, digits));
    if (!out.empty()) break;
  }
  return out;
}

}  // namespace rookery::plan
