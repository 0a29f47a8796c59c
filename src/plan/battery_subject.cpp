// The subject "battery": how long a camera runs on a power bank or on cells.
#include <fmt/format.h>

#include "plan/battery_plan.h"
#include "plan/cautions.h"
#include "plan/quantity_text.h"
#include "plan/subject.h"

namespace rookery::plan {
namespace {

std::string headline_of(const BatteryPlan& plan, const Spreads& spreads) {
  const auto of = [&](Lasting lasting) { return static_cast<std::size_t>(lasting); };
  const auto text = [](double seconds) { return hours_or_days(Seconds::from_value(seconds)); };
  if (!plan.stills) {
    const std::size_t at = of(Lasting::streaming);
    return fmt::format("A charge lasts {} streaming, {} in the worst case", text(spreads.nominal[at]),
                       text(spreads.spreads[at].low));
  }
  if (plan.goes_off()) {
    return fmt::format(
        "This bank switches itself off {} after the camera has fallen asleep; with a keep-alive load "
        "in pulses a charge lasts {}, {} in the worst case (without it {}, if a bank stayed on)",
        shown(plan.cut_off.after, 2), text(spreads.nominal[of(Lasting::stills_pulsed)]),
        text(spreads.spreads[of(Lasting::stills_pulsed)].low), text(spreads.nominal[of(Lasting::stills)]));
  }
  const std::size_t at = of(Lasting::stills);
  return fmt::format("A charge lasts {} with a still every {}, {} in the worst case",
                     text(spreads.nominal[at]), shown(plan.duty.every, 2), text(spreads.spreads[at].low));
}

std::vector<Note> notes_of(const BatteryPlan& plan, bool several) {
  std::vector<Note> out;
  if (plan.air < 0_C) {
    out.push_back({.caution = true,
                   .text =
                       "Lithium cells must not be charged below 0 °C: metal grows in them, and they may burn "
                       "later.",
                   .remedy = "Let them run down in the cold if you must, and charge them in the warm."});
  }
  if (plan.air < 20_C) {
    out.push_back({.text = "The cold keeps back a part of the charge; it comes back in the warm."});
  }
  if (plan.air < 0_C || plan.air > 50_C)
    out.push_back({.text =
                       "The sensor's picture is stable from 0 to 50 °C, and it works from −30 to 70 °C (from "
                       "memory)."});
  if (plan.stills)
    out.push_back(
        {.text = "A whole board takes about 6 mA asleep where its chip alone takes 10 µA: its regulator and "
                 "memory stay on. Cutting its supply with a timer switch saves most of that."});
  if (plan.bank)
    out.push_back(
        {.text =
             "The mAh printed on a bank are those of its cells at 3.7 V: at 5 V there are a quarter fewer, "
             "and the converter takes its share. Some banks do not give while they are being filled: "
             "try it."});
  if (plan.bank && !plan.idle)
    out.push_back(
        {.text = "What a bank takes for itself while it is on is left out, since no figure is known here: a "
                 "long sleep lasts less than told. Give it as idle when you know it."});
  if (plan.goes_off())
    out.push_back(
        {.text = fmt::format(
             "A keep-alive load all the time is a resistor of {}, which turns {} into heat (U²/R): take "
             "one rated {} or more, free of anything that melts or burns.",
             shown(plan.resistor().most, 2), shown(plan.resistor().heat, 2),
             shown(plan.resistor().rating, 2))});
  out.push_back(tolerance_note());
  out.push_back(lithium_caution());
  if (plan.air >= 40_C)
    out.push_back({.caution = true,
                   .text = "Cells age fast in the heat and must not be charged above 45 °C (from memory).",
                   .remedy = "Keep them out of the sun and away from machines."});
  if (several)
    out.push_back(
        {.caution = true,
         .text = plan.bank ? "Power banks must not be joined at their sockets: one feeds into the other."
                           : "Cells that are not equally charged push large currents into each other when "
                             "they are joined.",
         .remedy = plan.bank
                       ? "Use them one after the other."
                       : "Join only cells of one kind and one voltage, behind one protection circuit."});
  return out;
}

base::Result<Answer> answer(const Values& values) {
  const auto plan = battery_plan(values);
  if (!plan) return plan.error();
  const Spreads spreads = battery_spreads(*plan);
  Answer out;
  out.headline = headline_of(*plan, spreads);
  out.figures = battery_figures(*plan, spreads);
  out.limits = battery_limits(*plan, spreads);
  out.tables = battery_tables(*plan);
  out.steps = battery_steps(*plan);
  out.notes = notes_of(*plan, values.count("count") > 1);
  out.parts = {{values.choice("kind") == "bank" ? "Power bank" : "Lithium cells with a step-up converter",
                fmt::format("{} × {}", values.text("count"), values.text("capacity"))}};
  out.drawing = battery_drawing(*plan);
  return out;
}

}  // namespace

Subject battery_subject() {
  return {"battery", "Battery",
          "How long does a camera run on a power bank or on cells, and does the bank stay on?",
          battery_fields(), answer};
}

}  // namespace rookery::plan
