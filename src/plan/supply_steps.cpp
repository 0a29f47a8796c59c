// How "supply" was reckoned: each formula, and the same with the numbers filled in.
#include <fmt/format.h>

#include "plan/quantity_text.h"
#include "plan/supply_plan.h"

namespace rookery::plan {
namespace {

constexpr std::string_view kRegulatorSource = "1117 family, as quoted by others from data sheets";

void add_chain(const SupplyPlan& plan, std::vector<Step>& out) {
  const Chain chain = plan.chain();
  const Amperes worst = plan.current_in(plan.worst_mode());
  const Points points = points_at(chain, worst);
  const bool lit = plan.lamp != LampUse::never;
  out.push_back({fmt::format("Current, {}", words_of(plan.worst_mode())),
                 lit ? "I = module's peak + others + lamp" : "I = module's peak + others",
                 fmt::format("{} + {}{} = {}", shown(plan.currents.chip_peak), shown(plan.currents.others),
                             lit ? " + " + shown(plan.currents.lamp) : "", shown(worst)),
                 "the module's data sheet; a board's currents as measured, as quoted by others"});
  out.push_back(
      {"Resistance of the way there and back", "R = 2 · r · L + contacts + fuse",
       fmt::format("2 · {:.4g} Ω/m · {} + {} + {} = {}",
                   resistance_per_metre(plan.size, plan.strands, plan.air).value(), shown(plan.length),
                   shown(plan.contacts), shown(plan.fuse), shown(chain.path(), 4)),
       std::string(kCopperSource)});
  out.push_back({fmt::format("Board pin, {}", words_of(plan.worst_mode())), "U = set − R · I",
                 fmt::format("{} − {} · {} = {}", shown(chain.feed, 4), shown(chain.path(), 4), shown(worst),
                             shown(points.pin, 4)),
                 "Ohm's law"});
  out.push_back({"What the board's regulator needs at the most", "U = output + dropout",
                 fmt::format("{} + {} = {} (as planned 3.3 V + 1.3 V = 4.6 V; typical 4.4 V)",
                             shown(regulator_1117::kOutputMost, 4), shown(regulator_1117::kDropoutMost),
                             shown(plan.pin_needed())),
                 "1117 family: dropout as quoted by others from data sheets, output's range from memory"});
  out.push_back({"Chip", "U = min(3.3 V, pin − dropout) − track · (I − own current)",
                 fmt::format("min(3.3 V, {} − {}) − {} · {} = {}", shown(points.pin, 4),
                             shown(chain.regulator.dropout), shown(chain.rail_path),
                             shown(std::max(worst - chain.regulator.quiescent, 0_A)), shown(points.chip, 4)),
                 std::string(kRegulatorSource)});
}

void add_set_points(const SupplyPlan& plan, std::vector<Step>& out) {
  const SetPointRange range = set_points(plan.bounds(plan.size));
  const Ohms path = plan.wire() + plan.contacts_most();
  out.push_back({"Least set point, worst case", "(needed + R · I) / (1 − spread)",
                 fmt::format("({} + {} · {}) / (1 − {:.3f}) = {}", shown(plan.pin_needed()), shown(path, 4),
                             shown(plan.current_most()), plan.set_spread, shown(range.least)),
                 "the spread is that of the regulator's reference: " + std::string(plan.buck->source)});
  out.push_back(
      {"Highest set point, worst case", "board's limit / (1 + spread)",
       fmt::format("{} / (1 + {:.3f}) = {}", shown(plan.board_most), plan.set_spread, shown(range.most)),
       "board-most; asleep the board draws nothing, and nothing is lost on the way. Heat, source or wire may "
       "end it earlier: see the set points"});
}

void add_heat(const SupplyPlan& plan, std::vector<Step>& out) {
  const Chain chain = plan.chain();
  const Amperes current = plan.lasting_in(plan.warming_mode());
  const Points points = points_at(chain, current);
  const Watts heat = heat_of(chain.regulator, points.pin, current);
  out.push_back({"Heat of the board's regulator", "P = pin · I − rail · (I − own current)",
                 fmt::format("{} · {} − {} · {} = {}", shown(points.pin), shown(current), shown(points.rail),
                             shown(std::max(current - chain.regulator.quiescent, 0_A)), shown(heat)),
                 std::string(kRegulatorSource)});
  out.push_back({"Temperature inside it", "T = air + P · Rth",
                 fmt::format("{} + {} · {} = {}", shown(plan.air), shown(heat), shown(plan.linear_to_air),
                             shown(junction_temperature(plan.air, heat, plan.linear_to_air))),
                 "46 to over 90 K/W, as quoted by others from data sheets"});
}

void add_buck(const SupplyPlan& plan, std::vector<Step>& out) {
  const double count = plan.boards;
  const Amperes lit = plan.lasting_in(plan.lit_mode()) * count;
  const Amperes peak = plan.current_in(plan.worst_mode()) * count;
  const Amperes warming = plan.lasting_in(plan.warming_mode()) * count;
  const std::string efficiency(plan.efficiency_source);
  const RegulatorInput at_peak = plan.at_regulator(plan.current_in(plan.worst_mode()));
  const Watts power = plan.set_point * peak / plan.efficiency_least;
  out.push_back(
      {fmt::format("What arrives at the regulator, {}", words_of(plan.worst_mode())),
       "Uin = (U + √(U² − 4 · R · P)) / 2, P = set · I / η",
       fmt::format("P = {} · {} / {:.2f} = {}; R = 2 · {:.4g} Ω/m · {} + {} = {}: {}", shown(plan.set_point),
                   shown(peak), plan.efficiency_least, shown(power),
                   resistance_per_metre(plan.feed_size, plan.strands, plan.air).value(),
                   shown(plan.feed_length), shown(plan.fuse), shown(plan.feed_path()),
                   level_text(at_peak.arrives)),
       "Ohm's law; a regulator takes the more current the less arrives; the source's fuse is taken as the "
       "board's"});
  const RegulatorInput at_lit = plan.at_regulator(plan.lasting_in(plan.lit_mode()));
  out.push_back({fmt::format("Taken from the source, {} at its most", words_of(plan.lit_mode())),
                 "I = set · I / (η · Uin)",
                 fmt::format("{} · {} / ({:.2f} · {}) = {}", shown(plan.set_point), shown(lit),
                             plan.efficiency_least, level_text(at_lit.arrives), shown(at_lit.current)),
                 efficiency});
  out.push_back({"Heat of the buck regulator", "P = set · I · (1/η − 1)",
                 fmt::format("{} · {} · (1/{:.2f} − 1) = {}", shown(plan.set_point), shown(warming),
                             plan.efficiency_least,
                             shown(converter_heat(plan.set_point, warming, plan.efficiency_least))),
                 efficiency});
}

void add_ripple(const SupplyPlan& plan, std::vector<Step>& out) {
  const std::string source(plan.buck->source);
  const SwitchLosses losses = plan.losses();
  const Volts input = plan.source.nominal;
  const VoltSeconds product = inductor_volt_seconds(input, plan.set_point, losses, plan.frequency);
  const double share = duty(input, plan.set_point, losses);
  out.push_back({"Share of the period that the switch is closed", "D = (set + VD) / (Uin − VSAT + VD)",
                 fmt::format("({} + {:.2f} V) / ({} − {:.2f} V + {:.2f} V) = {:.4f}", shown(plan.set_point),
                             losses.diode.value(), shown(input), losses.saturation.value(),
                             losses.diode.value(), share),
                 source});
  if (!plan.inductance) return;
  const Amperes ripple = ripple_current(product, *plan.inductance);
  out.push_back({"Ripple in the coil", "ΔI = (Uin − VSAT − set) · D / (f · L)",
                 fmt::format("({} − {:.2f} V − {}) · {:.4f} / ({} · {}) = {}", shown(input),
                             losses.saturation.value(), shown(plan.set_point), share, shown(plan.frequency),
                             shown(*plan.inductance), shown(ripple)),
                 source});
  if (!plan.knows_ripple()) return;
  const OutputRipple out_ripple =
      output_ripple(ripple, plan.frequency, *plan.output_capacitor, *plan.output_esr);
  out.push_back({"Ripple behind the regulator", "ΔU = ΔI / (8 · f · C) + ΔI · ESR",
                 fmt::format("{} + {} = {}", shown(out_ripple.charging), shown(out_ripple.resistance),
                             shown(out_ripple.together())),
                 "a buck regulator's usual equations; the sum is the most that it can be"});
}

void add_trimmer(const SupplyPlan& plan, std::vector<Step>& out) {
  const auto turn = plan.turn();
  if (!turn) return;
  out.push_back({"One turn of the trimmer", "ΔU = Uref · trimmer / (turns · R1)",
                 fmt::format("{} · {} / ({} · {}) = {}", shown(plan.buck->reference), shown(*plan.trimmer),
                             *plan.turns, shown(*plan.r1), shown(*turn)),
                 "Uout = Uref · (1 + R2/R1), " + std::string(plan.buck->source)});
}

}  // namespace

std::vector<Step> supply_steps(const SupplyPlan& plan) {
  std::vector<Step> out;
  add_chain(plan, out);
  if (plan.buck != nullptr) add_set_points(plan, out);
  add_heat(plan, out);
  if (plan.buck == nullptr) return out;
  add_buck(plan, out);
  add_ripple(plan, out);
  add_trimmer(plan, out);
  return out;
}

}  // namespace rookery::plan
