// The subject "capacitor": the size that takes the edge off a transmission, and what no capacitor mends.
#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "plan/capacitor.h"
#include "plan/capacitor_plan.h"
#include "plan/cautions.h"
#include "plan/quantity_text.h"
#include "plan/subject.h"

namespace rookery::plan {
namespace {

constexpr std::array kSources = {
    Choice{"supply", "A regulator, a supply, a charger or a bank"},
    Choice{"usb-port", "A USB port of a computer or a hub"},
};

constexpr std::array kFields = {
    Field{
        .key = "step",
        .label = "Step of the current",
        .kind = Kind::current,
        .least = "1 mA",
        .most = "10 A",
        .why =
            "the transmit peak less what flows on average: 430 mA less 190 mA on the usual board, as quoted "
            "by others",
        .example = "0.3 A"},
    Field{.key = "duration",
          .label = "How long it lasts",
          .kind = Kind::duration,
          .least = "1 us",
          .most = "1 s",
          .why = "a packet is on the air for 0.2 ms (MCS7) to 2 ms (MCS0)",
          .example = "1 ms"},
    Field{.key = "allowed",
          .label = "Fall allowed at the board's pin",
          .kind = Kind::voltage,
          .least = "5 mV",
          .most = "5 V",
          .why = "what `supply` leaves until the board's regulator gives out",
          .example = "0.2 V"},
    Field{.key = "esr",
          .label = "Capacitor's series resistance (ESR)",
          .kind = Kind::resistance,
          .least = "0 ohm",
          .most = "20 ohm",
          .preset = "0.1 ohm",
          .why = "usual for a small electrolytic; common practice, no source: its data sheet knows"},
    Field{.key = "fitted",
          .label = "Capacitor that is there already",
          .kind = Kind::capacitance,
          .least = "1 uF",
          .most = "100 mF",
          .why = "to see how far it goes",
          .may_be_absent = true},
    Field{.key = "tolerance",
          .label = "How much its capacitance may differ",
          .kind = Kind::ratio,
          .least = "0 %",
          .most = "80 %",
          .preset = "20 %",
          .why = "usual for electrolytics; common practice, no source"},
    Field{.key = "path",
          .label = "Resistance from the supply to the capacitor",
          .kind = Kind::resistance,
          .least = "1 mohm",
          .most = "20 ohm",
          .why = "wire and contacts, as `supply` reckons them: shows what the supply adds meanwhile",
          .may_be_absent = true},
    Field{.key = "source",
          .label = "What feeds the board",
          .kind = Kind::choice,
          .preset = "supply",
          .why = "the usual board; a USB port bears no more than 10 µF behind its plug",
          .choices = kSources},
    Field{.key = "voltage",
          .label = "Voltage at the capacitor",
          .kind = Kind::voltage,
          .least = "1 V",
          .most = "40 V",
          .preset = "5.2 V",
          .why = "the usual set point, common practice"},
};

std::vector<Figure> figures_of(const CapacitorPlan& plan, const Spreads& spreads) {
  std::vector<Figure> out;
  if (plan.needed)
    out.push_back({.key = "needed",
                   .label = "Needed when nothing comes from the supply meanwhile",
                   .kind = Kind::capacitance,
                   .value = plan.needed->value()});
  const std::vector<Figure> more = {
      {.key = "size",
       .label = plan.fitted ? "Fitted" : "Take",
       .kind = Kind::capacitance,
       .value = plan.size.value()},
      {.key = "sag",
       .label = "Fall with it",
       .kind = Kind::voltage,
       .value = spreads.nominal[kSagOutput],
       .spread = spreads.spreads[kSagOutput]},
      {.key = "sag-esr",
       .label = "Of that at once, by its series resistance",
       .kind = Kind::voltage,
       .value = plan.fall_at_once().value()},
      {.key = "covered",
       .label = "It alone covers",
       .kind = Kind::duration,
       .value = spreads.nominal[kCoveredOutput],
       .spread = spreads.spreads[kCoveredOutput]},
      {.key = "esr-most",
       .label = "Series resistance with which no size helps",
       .kind = Kind::resistance,
       .value = (plan.allowed / plan.step.current).value()},
  };
  out.insert(out.end(), more.begin(), more.end());
  if (const auto rating = usual_rating(plan.voltage)) {
    out.push_back({.key = "rating",
                   .label = "Rated voltage, at least",
                   .kind = Kind::voltage,
                   .value = rating->value(),
                   .note = "half as much again; common practice, no source"});
  }
  if (plan.path) {
    out.push_back({.key = "sag-alone",
                   .label = "Fall if nothing came from the supply",
                   .kind = Kind::voltage,
                   .value = std::min(sag(plan.step, plan.size, plan.esr), plan.voltage).value()});
    out.push_back({.key = "steady",
                   .label = "Lost on the way when it lasts, which no capacitor mends",
                   .kind = Kind::voltage,
                   .value = (plan.step.current * *plan.path).value()});
  }
  return out;
}

std::vector<Limit> limits_of(const CapacitorPlan& plan, const Spreads& spreads) {
  std::vector<Limit> out = {capacitor_sag(plan, spreads)};
  std::string& remedy = out.front().remedy;
  if (!plan.recommended && plan.usb_port) {
    remedy += "The 10 µF that a USB port bears are not enough: feed the board from a charger or a regulator.";
  } else if (!plan.recommended) {
    remedy +=
        "No usual capacitor is large enough: this is a weak supply, not an edge. Take a stronger supply or "
        "a thicker wire.";
  } else if (plan.fitted) {
    remedy += fmt::format("Take {}, or one with less series resistance.", shown(*plan.recommended, 2));
  } else {
    remedy += "Take one with less series resistance, or two side by side.";
  }
  out.push_back(judged(
      {.key = "entry",
       .label = "Capacitance where the supply enters the board",
       .kind = Kind::capacitance,
       .value = plan.size.value(),
       .bound = kLeastAtTheEntry.value(),
       .at_most = false,
       .source = "chip maker's guide",
       .remedy = "Take 10 µF or more; builders take 100 to 220 µF (as quoted by others) and up to 1000 "
                 "µF (from memory)."},
      0.0));
  if (plan.usb_port) {
    out.push_back(
        judged({.key = "inrush",
                .label = "Capacitance behind a USB plug, as printed",
                .kind = Kind::capacitance,
                .value = plan.size.value(),
                .bound = kMostOnUsb.value(),
                .source = "USB 2.0, 7.2.4.1, as quoted by others",
                .remedy = "The board's own capacitors count as well, and more makes the port's voltage "
                          "fall when it is plugged in: take 10 µF at the most, or feed the board from "
                          "a charger or a regulator."},
               0.1));
  }
  return out;
}

Table table_of(const CapacitorPlan& plan) {
  Table table{"Usual sizes, with the series resistance given",
              {"Size", "Fall", "Worst case", "It alone covers", ""},
              {}};
  for (const Farads& size : usual_capacitors()) {
    const Volts fall = plan.fall(size, plan.esr);
    const Volts worst = worst_fall(plan, size);
    if (std::abs((size / plan.size).value() - 1) < 0.01) table.chosen = table.rows.size();

    const auto text = [&](Volts volts) { return volts >= plan.voltage ? "all of it" : shown(volts); };
    table.rows.push_back({shown(size, 2), text(fall), text(worst),
                          shown(covered(plan.step.current, plan.allowed, size, plan.esr)),
                          worst <= plan.allowed  ? "holds"
                          : fall <= plan.allowed ? "tight"
                                                 : "does not hold"});
  }
  return table;
}

std::vector<Step> steps_of(const CapacitorPlan& plan) {
  const std::string current = shown(plan.step.current);
  const std::string duration = shown(plan.step.duration);
  const std::string esr = shown(plan.esr);
  std::vector<Step> out;
  if (plan.needed)
    out.push_back({"Capacitance needed", "C = I · Δt / (ΔU − I · ESR)",
                   fmt::format("{} · {} / ({} − {} · {}) = {}", current, duration, shown(plan.allowed),
                               current, esr, shown(*plan.needed)),
                   "charge is current times time; nothing comes from the supply meanwhile"});
  if (plan.path) {
    out.push_back({"Fall when the supply feeds meanwhile",
                   "ΔU = I · R · (1 − R / (R + ESR) · exp(−Δt / ((R + ESR) · C)))",
                   fmt::format("R = {}: {}", shown(*plan.path),
                               shown(sag_with_supply(plan.step.current, plan.step.duration, plan.size,
                                                     plan.esr, *plan.path))),
                   "a capacitor that is fed through a resistor"});
    return out;
  }
  out.push_back({"Fall with what is taken", "ΔU = I · ESR + I · Δt / C",
                 fmt::format("{} · {} + {} · {} / {} = {}", current, esr, current, duration, shown(plan.size),
                             shown(sag(plan.step, plan.size, plan.esr))),
                 "the same, turned round"});
  out.push_back({"The same in the worst case", "C − tolerance, twice the ESR",
                 fmt::format("{} · {} + {} · {} / {} = {}", current, shown(kEsrMost * plan.esr), current,
                             duration, shown(plan.size * (1 - plan.tolerance)),
                             shown(sag(plan.step, plan.size * (1 - plan.tolerance), kEsrMost * plan.esr))),
                 "common practice, no source: an old or cold electrolytic has about twice the ESR"});
  return out;
}

std::vector<Note> notes_of(const CapacitorPlan& plan) {
  const double for_a_second = (plan.step.current * 1_s / plan.allowed).value();
  std::vector<Note> out = {
      {.text =
           fmt::format("It covers edges of milliseconds, not a weak supply: to carry this step for a second, "
                       "{} would be needed. What it cannot mend: a wire that is too thin, a set point that "
                       "is too low, a supply that cannot give the mean current.",
                       for_a_second >= 0.1 ? fmt::format("{:.2g} F", for_a_second)
                                           : show_value(for_a_second, Kind::capacitance, 2)),
       .remedy = "Look at `supply` first."},
      {.text = "Solder it close to the board's 5 V pin and ground: a few centimetres of wire before it are "
               "no harm, "
               "behind it they are."},
      tolerance_note(),
      {.caution = true,
       .text =
           "An electrolytic capacitor put in the wrong way round, or at more than its rated voltage, bursts.",
       .remedy = "The stripe on its side marks the negative lead: to ground."},
      solder_caution(),
  };
  if (plan.feeds_enough() && !plan.usb_port) {
    out.insert(out.begin(),
               {.text = "Builders take 100 to 220 µF all the same, as quoted by others: a regulator "
                        "takes a moment to notice the step, which this sum leaves out."});
  }
  if (plan.path && plan.step.current * *plan.path > plan.allowed) {
    out.insert(
        out.begin(),
        {.text = fmt::format("If the step lasts longer, {} are lost on the way, more than allowed, whatever "
                             "the capacitor.",
                             shown(plan.step.current * *plan.path)),
         .remedy = "Take a thicker or shorter wire."});
  }
  return out;
}

// The value that decides, as the limit has it.
std::string fall_words(const Limit& sag) {
  const std::string which = sag.label.substr(sag.label.find(',') + 2);
  return fmt::format("the board's pin falls by {} of the {} allowed ({})", show_value(sag.value, sag.kind),
                     show_value(sag.bound, sag.kind), which);
}

std::string headline_of(const CapacitorPlan& plan, const Limit& sag) {
  const std::string fall = fall_words(sag);
  const std::string size = shown(plan.size, 2);
  if (plan.fitted && plan.path) return fmt::format("With the {} fitted {}", size, fall);
  if (plan.fitted)
    return fmt::format("With the {} fitted {}; {} are needed", size, fall, shown(*plan.needed));
  const auto rating = usual_rating(plan.voltage);
  const std::string with =
      fmt::format("{} rated {}, with which {}", size, rating ? shown(*rating, 2) : "high enough", fall);
  if (!plan.recommended)
    return fmt::format("No {} is enough: even {}",
                       plan.usb_port ? "capacitor that a USB port bears" : "usual capacitor", with);
  if (plan.feeds_enough())
    return fmt::format(
        "None is needed for this step, since the supply feeds enough meanwhile; the chip maker asks "
        "for 10 µF: take {}",
        with);
  if (plan.path) return fmt::format("With what the supply feeds meanwhile take {}", with);
  return fmt::format("{} are needed: take {}", shown(*plan.needed), with);
}

base::Result<Answer> answer(const Values& values) {
  const auto plan = capacitor_plan(values);
  if (!plan) return plan.error();
  const Spreads spreads = capacitor_spreads(*plan);
  Answer out;
  out.figures = figures_of(*plan, spreads);
  out.limits = limits_of(*plan, spreads);
  out.headline = headline_of(*plan, out.limit("sag"));
  out.tables = {table_of(*plan)};
  out.steps = steps_of(*plan);
  out.notes = notes_of(*plan);
  const auto rating = usual_rating(plan->voltage);
  out.parts = {{"Capacitor at the board's 5 V pin",
                fmt::format("{}, {}, at most {} of series resistance", shown(plan->size, 2),
                            rating ? "rated " + shown(*rating, 2) : "rated high enough", shown(plan->esr))}};
  out.drawing = capacitor_drawing(*plan);
  return out;
}

}  // namespace

Subject capacitor_subject() {
  return {"capacitor", "Capacitor",
          "How large a capacitor takes the edge off a transmission, and what can none mend?", kFields,
          answer};
}

}  // namespace rookery::plan
