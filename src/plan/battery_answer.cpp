// The numbers, limits, tables and steps of "battery".
#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "plan/battery_plan.h"
#include "plan/quantity_text.h"
#include "plan/safe_side.h"

namespace rookery::plan {
namespace {

// Cells run down by themselves, by some percent a month (from memory).
const Seconds kCellsKeep = 3.0 * 8766_h;

std::size_t place(Lasting lasting) { return static_cast<std::size_t>(lasting); }

Figure lasting_figure(std::string key, std::string label, const Spreads& spreads, Lasting lasting,
                      std::string note = {}) {
  return {.key = std::move(key),
          .label = std::move(label),
          .kind = Kind::duration,
          .value = spreads.nominal[place(lasting)],
          .spread = spreads.spreads[place(lasting)],
          .note = std::move(note)};
}

void add_keep_alive(const BatteryPlan& plan, const Spreads& spreads, std::vector<Figure>& out) {
  const KeepAlive steady = plan.steady();
  const KeepAlive pulsed = plan.pulsed();
  out.push_back(lasting_figure(
      "stills-steady", "A charge lasts with a steady keep-alive load", spreads, Lasting::stills_steady,
      fmt::format("{} all the time: a resistor of {}, which turns {} into heat (U²/R): rated {} or more",
                  shown(steady.current), shown(plan.resistor().most, 2), shown(plan.resistor().heat, 2),
                  show_value(plan.resistor().rating.value(), Kind::power, 2))));
  out.push_back(lasting_figure("stills-pulsed", "A charge lasts with a keep-alive load in pulses", spreads,
                               Lasting::stills_pulsed,
                               fmt::format("{} for {} every {}", shown(pulsed.current),
                                           shown(pulsed.pulse, 2), shown(pulsed.period, 2))));
}

Limit cut_off_limit(const BatteryPlan& plan) {
  const bool held_awake = plan.stills && !plan.goes_off() && plan.duty.asleep < plan.cut_off.current;
  if (held_awake) {
    return judged({.key = "cut-off",
                   .label = "Sleep between two stills, with less than the cut-off current",
                   .kind = Kind::duration,
                   .value = (plan.duty.every - plan.duty.awake_for).value(),
                   .bound = plan.cut_off.after.value(),
                   .source = "30 s of many banks, as quoted by others; unless you gave your own",
                   .remedy = "Banks differ: try yours, or take a picture more often."},
                  0.3);
  }
  const KeepAlive pulsed = plan.pulsed();
  std::string remedy =
      "Take a bank with an always-on mode for small loads, or cells with a converter that stays on";
  if (plan.goes_off()) {
    remedy += fmt::format("; or add a load of {} for {} every {}", shown(pulsed.current),
                          shown(pulsed.pulse, 2), shown(pulsed.period, 2));
  }
  return judged(
      {.key = "cut-off",
       .label = plan.stills ? "Current in the camera's sleep" : "Current while it streams",
       .kind = Kind::current,
       .value = ((plan.stills ? plan.duty.asleep : plan.streaming) * (1 - plan.current_spread)).value(),
       .bound = plan.cut_off.current.value(),
       .at_most = false,
       .source = "many banks switch off below 100 mA for 30 s, one common converter chip below 45 mA "
                 "for 32 s, as quoted by others; unless you gave your own",
       .remedy = remedy + "."},
      0.2);
}

}  // namespace

std::string hours_or_days(Seconds time) {
  const double hours = time.value() / 3600;
  return hours >= 10 && hours <= 72 ? fmt::format("{:.1f} h", hours) : shown(time);
}

Amperes BatteryPlan::mean() const {
  if (!stills) return mean_streaming();
  return mean_stills() + (goes_off() ? pulsed().mean() : 0_A);
}

Spreads battery_spreads(const BatteryPlan& plan) {
  const std::vector<Tolerance> parameters = {
      {plan.efficiency, plan.efficiency_least, plan.efficiency_most},
      {plan.cell.value(), plan.cell_least.value(), plan.cell.value()},
      {plan.streaming.value(), (plan.streaming * (1 - plan.current_spread)).value(),
       plan.streaming_most.value()},
      within(plan.duty.asleep.value(), plan.current_spread)};
  return spreads_of(
      parameters, place(Lasting::count), [&](std::span<const double> values, std::span<double> outputs) {
        BatteryPlan one = plan;
        one.efficiency = values[0];
        one.cell = Volts::from_value(values[1]);
        const Coulombs charge = one.at_output();
        const Amperes streaming = Amperes::from_value(values[2]);
        const Amperes idle = one.idle_out();
        const Amperes stills =
            mean_current({streaming, plan.duty.awake_for, Amperes::from_value(values[3]), plan.duty.every}) +
            idle;
        // The keep-alive load is a part that one chooses: it does not differ from board to board.
        const std::array<Amperes, 4> means = {streaming + idle, stills, stills + plan.steady().mean(),
                                              stills + plan.pulsed().mean()};
        for (std::size_t i = 0; i < means.size(); ++i) outputs[i] = lasts(charge, means[i]).value();
      });
}

std::vector<Figure> battery_figures(const BatteryPlan& plan, const Spreads& spreads) {
  const Joules printed = energy_printed(plan.capacity, plan.cell);
  const double streaming = spreads.nominal[place(Lasting::streaming)];
  const std::string in_hours = hours_or_days(Seconds::from_value(streaming));
  std::vector<Figure> out = {
      lasting_figure("streaming", "A charge lasts, streaming", spreads, Lasting::streaming,
                     in_hours == show_value(streaming, Kind::duration) ? "" : in_hours),
      lasting_figure("stills", fmt::format("A charge lasts, a still every {}", shown(plan.duty.every, 2)),
                     spreads, Lasting::stills,
                     plan.bank && cuts_off(plan.duty, plan.cut_off) ? "if the bank stayed on" : ""),
  };
  if (plan.goes_off()) add_keep_alive(plan, spreads, out);
  const double stills = (lasts(plan.at_output(), plan.mean()) / plan.duty.every).value();
  if (plan.stills)
    out.push_back({.key = "count",
                   .label = "Stills from one charge",
                   .kind = Kind::count,
                   .value = std::floor(stills)});
  out.push_back(
      {.key = "mean", .label = "Mean current", .kind = Kind::current, .value = plan.mean().value()});
  out.push_back({.key = "printed",
                 .label = "Energy in its cells, as printed",
                 .kind = Kind::energy,
                 .value = printed.value()});
  out.push_back({.key = "usable",
                 .label = "Of that at the socket",
                 .kind = Kind::energy,
                 .value = (plan.energy() * plan.efficiency).value(),
                 .note = "after age, cold and converter"});
  out.push_back({.key = "charge",
                 .label = fmt::format("The same as charge at {}", shown(plan.output, 2)),
                 .kind = Kind::charge,
                 .value = plan.at_output().value(),
                 .digits = 4});
  out.push_back({.key = "recharge",
                 .label = "Filling it again takes about",
                 .kind = Kind::duration,
                 .value = recharge_time(printed * plan.health, plan.charger, plan.efficiency).value(),
                 .digits = 2});
  if (plan.wanted) {
    const double worst = spreads.spreads[place(plan.lasting())].low;
    const Coulombs needed = plan.capacity * (plan.wanted->value() / worst);
    out.push_back({.key = "needed",
                   .label = "Capacity that it takes to last as long as wanted",
                   .kind = Kind::charge,
                   .value = shown_at_least(needed.value(), Kind::charge),
                   .note = "printed, all together, in the worst case"});
  }
  return out;
}

std::vector<Limit> battery_limits(const BatteryPlan& plan, const Spreads& spreads) {
  std::vector<Limit> out;
  if (plan.bank) out.push_back(cut_off_limit(plan));
  out.push_back(judged(
      {.key = "rate",
       .label = "Current out of the cells while awake, worst case",
       .kind = Kind::current,
       .value = (plan.output * plan.streaming_most / (plan.efficiency_least * plan.cell_least)).value(),
       .bound = (0.2 * plan.capacity / 1_h).value(),
       .source = "IEC 61960-3 rates the capacity at 0.2 of it in an hour, from memory",
       .remedy = "At more current cells give less than printed: take larger ones."},
      0.0));
  if (plan.wanted) {
    const Lasting as = plan.lasting();
    out.push_back(
        judged({.key = "wanted",
                .label = plan.goes_off() ? "A charge lasts, the bank kept awake by pulses" : "A charge lasts",
                .kind = Kind::duration,
                .value = spreads.nominal[place(as)],
                .bound = plan.wanted->value(),
                .at_most = false,
                .source = "your own value",
                .remedy = "Take a larger one, more of them, or a still less often."},
               spreads.spreads[place(as)], 0.05));
  }
  return out;
}

std::vector<Table> battery_tables(const BatteryPlan& plan) {
  Table banks{"Other capacities",
              {"Printed", "Streaming", fmt::format("A still every {}", shown(plan.duty.every, 2))},
              {}};
  const bool goes_off = plan.bank && cuts_off(plan.duty, plan.cut_off);
  if (goes_off) banks.columns.emplace_back("The same with a keep-alive in pulses");
  for (const double ah : {2.5, 5.0, 10.0, 20.0, 26.8}) {
    BatteryPlan other = plan;
    other.capacity = Coulombs::from_value(ah * 3600);
    if (std::abs((other.capacity / plan.capacity).value() - 1) < 0.01) banks.chosen = banks.rows.size();
    const Coulombs charge = other.at_output();
    banks.rows.push_back({fmt::format("{:.0f} mAh", ah * 1000),
                          hours_or_days(lasts(charge, plan.mean_streaming())),
                          hours_or_days(lasts(charge, plan.mean_stills()))});
    if (goes_off)
      banks.rows.back().push_back(hours_or_days(lasts(charge, plan.mean_stills() + plan.pulsed().mean())));
  }
  Table asleep{"Asleep and nothing else: where a board's charge goes",
               {"What sleeps", "Current", "A charge lasts"},
               {}};
  for (const SleepState& state : sleep_states()) {
    const Seconds time = lasts(plan.at_output(), state.current + plan.idle_out());
    asleep.rows.push_back({std::string(state.name), shown(state.current),
                           time > kCellsKeep ? "longer than its cells keep it" : hours_or_days(time)});
    if (std::abs((state.current / plan.duty.asleep).value() - 1) < 0.01)
      asleep.chosen = asleep.rows.size() - 1;
  }
  return {banks, asleep};
}

std::vector<Step> battery_steps(const BatteryPlan& plan) {
  const Joules printed = energy_printed(plan.capacity, plan.cell);
  std::vector<Step> out = {
      {"Energy as printed", "E = Ah · cell voltage",
       fmt::format("{} · {} = {}", shown(plan.capacity), shown(plan.cell), shown(printed)),
       "common practice: 3.7 V, of some cells 3.6 V"},
      {"What age and cold leave", "E · health · cold",
       fmt::format("{} · {:.2f} · {:.2f} = {}", shown(printed), plan.health, share_in_the_cold(plan.air),
                   shown(plan.energy())),
       "from memory of makers' discharge curves: 80 % at 0 °C, 60 % at −20 °C"},
      {"Charge at the socket", "Q = E · η / U",
       fmt::format("{} · {:.2f} / {} = {}", shown(plan.energy()), plan.efficiency, shown(plan.output),
                   shown(plan.at_output(), 4)),
       "η 0.80 to 0.93, as quoted by others"},
      {"Streaming", plan.idle ? "t = Q / (I + own · cell · η / U)" : "t = Q / I",
       fmt::format("{} / {} = {}", shown(plan.at_output(), 4),
                   plan.idle ? fmt::format("({} + {})", shown(plan.streaming), shown(plan.idle_out()))
                             : shown(plan.streaming),
                   hours_or_days(lasts(plan.at_output(), plan.mean_streaming()))),
       "a board's current as measured, as quoted by others"},
      {"Mean current with stills", "I = (awake · ta + asleep · (T − ta)) / T",
       fmt::format("({} · {} + {} · {}) / {} = {}", shown(plan.duty.awake), shown(plan.duty.awake_for),
                   shown(plan.duty.asleep), shown(plan.duty.every - plan.duty.awake_for),
                   shown(plan.duty.every, 2), shown(mean_current(plan.duty))),
       "asleep: the board's maker"},
  };
  if (plan.goes_off()) {
    const KeepAlive pulsed = plan.pulsed();
    out.push_back({"Keep-alive load in pulses", "I = (1.2 · cut-off − asleep at the least) · pulse / period",
                   fmt::format("(1.2 · {} − {}) · {} / {} = {}", shown(plan.cut_off.current),
                               shown(plan.least_asleep().asleep), shown(pulsed.pulse, 2),
                               shown(pulsed.period, 2), shown(pulsed.mean())),
                   "cut-off as quoted by others; a fifth above it and a period of nine tenths of its time: "
                   "common practice, "
                   "no source"});
    const KeepAliveResistor resistor = plan.resistor();
    out.push_back(
        {"The same all the time, as a resistor", "R = U / I, P = U² / R",
         fmt::format("{} / {} → {}; ({})² / {} = {}: rated {} or more, twice that", shown(plan.output),
                     shown(plan.steady().current), shown(resistor.most, 2), shown(plan.output),
                     shown(resistor.most, 2), shown(resistor.heat, 2), shown(resistor.rating, 2)),
         "Ohm's law; twice the heat is common practice, no source"});
  }
  out.push_back({"Filling it again", "t = 1.25 · E / (P · η)",
                 fmt::format("1.25 · {} / ({} · {:.2f}) = {}", shown(printed * plan.health),
                             shown(plan.charger), plan.efficiency,
                             shown(recharge_time(printed * plan.health, plan.charger, plan.efficiency), 2)),
                 "the slow last fifth, from memory"});
  return out;
}

}  // namespace rookery::plan
