// The numbers of "supply", and the notes that belong to them.
#include <algorithm>

#include <fmt/format.h>

#include "plan/cautions.h"
#include "plan/quantity_text.h"
#include "plan/safe_side.h"
#include "plan/supply_plan.h"

namespace rookery::plan {
namespace {

Figure figure_of(std::string key, std::string label, Kind kind, const Spreading& value) {
  return {.key = std::move(key),
          .label = std::move(label),
          .kind = kind,
          .value = value.nominal,
          .spread = value.spread};
}

Figure figure_of(std::string key, std::string label, Kind kind, double value, std::string note = {}) {
  return {.key = std::move(key),
          .label = std::move(label),
          .kind = kind,
          .value = value,
          .note = std::move(note)};
}

void add_voltages(const SupplyPlan& plan, const SupplySpreads& spreads, std::vector<Figure>& out) {
  for (const Mode mode : plan.modes()) {
    out.push_back(figure_of(fmt::format("pin-{}", key_of(mode)), fmt::format("Board pin, {}", words_of(mode)),
                            Kind::voltage, spreads.pin(mode)));
  }
  out.push_back(figure_of("pin-reading", "Board pin, streaming at its most", Kind::voltage,
                          spreads.of(SupplyOutput::reading)));
  for (const Mode mode : plan.modes()) {
    out.push_back(figure_of(fmt::format("chip-{}", key_of(mode)), fmt::format("Chip, {}", words_of(mode)),
                            Kind::voltage, spreads.chip(mode)));
  }
}

void add_margins(const SupplyPlan& plan, const SupplySpreads& spreads, std::vector<Figure>& out) {
  if (plan.buck != nullptr) {
    const SetPointSpan range = plan.range(plan.size);
    if (!range.empty()) {
      out.push_back(figure_of("set-least", "Set point, least that holds", Kind::voltage, range.least.value(),
                              fmt::format("ended by {}", range.lower)));
      out.push_back(figure_of("set-most", "Set point, most that holds", Kind::voltage, range.most.value(),
                              fmt::format("ended by {}", range.upper)));
      out.push_back(figure_of("set-best", "Set point with most room on both sides", Kind::voltage,
                              range.middle().value()));
      for (std::size_t i = out.size() - 3; i < out.size(); ++i) out[i].digits = range.digits;
    }
  }
  if (const auto longest = plan.longest()) {
    out.push_back(figure_of("longest", "This wire may be as long as", Kind::length,
                            shown_at_most(longest->value(), Kind::length), "one way, in the worst case"));
  }
  out.push_back(figure_of("regulation-margin", "Left until the board's regulator gives out", Kind::voltage,
                          spreads.of(SupplyOutput::regulation_margin)));
  out.push_back(figure_of("brown-out-margin", "Left until the chip resets (brown-out)", Kind::voltage,
                          spreads.of(SupplyOutput::brown_out_margin)));
}

void add_heat(const SupplyPlan& plan, const SupplySpreads& spreads, std::vector<Figure>& out) {
  out.push_back(
      figure_of("linear-heat",
                fmt::format("Heat of the board's regulator, {} at its most", words_of(plan.warming_mode())),
                Kind::power, spreads.of(SupplyOutput::linear_heat)));
  out.push_back(figure_of("linear-junction", "Inside the board's regulator", Kind::temperature,
                          spreads.of(SupplyOutput::linear_junction)));
  if (plan.buck == nullptr) return;
  out.push_back(
      figure_of("buck-heat", "Heat of the buck regulator", Kind::power, spreads.of(SupplyOutput::buck_heat)));
  out.push_back(figure_of("buck-junction", "Inside the buck regulator", Kind::temperature,
                          spreads.of(SupplyOutput::buck_junction)));
}

void add_source(const SupplyPlan& plan, const SupplySpreads& spreads, std::vector<Figure>& out) {
  out.push_back(figure_of("source-current",
                          fmt::format("Taken from the source, {} at its most", words_of(plan.lit_mode())),
                          Kind::current, spreads.of(SupplyOutput::source_steady)));
  out.push_back(figure_of("source-peak",
                          fmt::format("Taken from the source, {}", words_of(plan.worst_mode())),
                          Kind::current, spreads.of(SupplyOutput::source_peak)));
  if (plan.buck != nullptr)
    out.push_back(figure_of("regulator-input",
                            fmt::format("What arrives at the regulator, {}", words_of(plan.worst_mode())),
                            Kind::voltage, spreads.of(SupplyOutput::regulator_input)));
  if (plan.source.usb) return;
  const Amperes most = Amperes::from_value(spreads.of(SupplyOutput::source_steady).spread.high);
  if (const auto fuse = fuse_for(most); fuse && plan.buck != nullptr)
    out.push_back(figure_of("fuse-source", "Fuse at the source", Kind::current, fuse->value(),
                            "used to 75 % at the most; slow, for the regulator's capacitor"));
  if (const auto fuse = fuse_for(plan.current_most()))
    out.push_back(figure_of("fuse-wire", "Fuse where a board's wire begins", Kind::current, fuse->value(),
                            "it protects the wire, not the board"));
}

void add_regulator(const SupplyPlan& plan, const SupplySpreads& spreads, std::vector<Figure>& out) {
  if (plan.buck == nullptr) return;
  out.push_back(
      figure_of("duty", "Share of the period that the regulator's switch is closed", Kind::ratio,
                duty(plan.source.nominal, plan.set_point, plan.losses()),
                "no largest share is known for this kind: what arrives is held against what it needs"));
  if (plan.inductance)
    out.push_back(figure_of("ripple-current", "Ripple in the regulator's coil", Kind::current,
                            spreads.of(SupplyOutput::ripple_current)));
  if (plan.knows_ripple())
    out.push_back(figure_of("ripple-voltage", "Ripple behind the regulator, peak to peak", Kind::voltage,
                            spreads.of(SupplyOutput::ripple_voltage)));
  if (plan.r1) {
    const Ohms r2 = upper_resistor(plan.set_point, plan.buck->reference, *plan.r1);
    out.push_back(figure_of("r2", "R2 for this set point", Kind::resistance, r2.value(),
                            fmt::format("with R1 {}; nearest 1 % resistor {}", shown(*plan.r1),
                                        r2 > 0_ohm ? shown(nearest_e96(r2)) : "a piece of wire")));
  }
  if (const auto turn = plan.turn()) {
    out.push_back(figure_of(
        "turn", "One turn of the trimmer changes", Kind::voltage, turn->value(),
        fmt::format("with R1 {}, {} and {} turns", shown(*plan.r1), shown(*plan.trimmer), *plan.turns)));
    out.push_back(figure_of("turns-left", "Turns from the set point to the board's limit", Kind::number,
                            ((plan.board_most - plan.set_point) / *turn).value()));
  }
}

void note_the_trimmer(const SupplyPlan& plan, std::vector<Note>& out) {
  const auto turn = plan.turn();
  if (!turn) {
    out.push_back({.caution = true,
                   .text =
                       "A wrong turn destroys the board. What one turn of the trimmer changes is not known "
                       "for this kind of regulator: a trimmer of a single turn changes the output fast.",
                   .remedy = "Set the voltage with no board connected and by small steps, then connect the "
                             "board and check it under load. Read R1, trimmer and turns off your module and "
                             "give them (r1, trimmer, turns) to have the number."});
    return;
  }
  const Volts full = buck_output(plan.buck->reference, *plan.r1, *plan.trimmer);
  const double left = ((plan.board_most - plan.set_point) / *turn).value();
  out.push_back({.caution = true,
                 .text = fmt::format(
                     "A wrong turn destroys the board: one turn of this trimmer changes the output by {}, "
                     "{:.2f} of a turn leads from {} past the board's {}, and at its end it gives up to "
                     "{}.",
                     shown(*turn), left, shown(plan.set_point), shown(plan.board_most),
                     shown(std::min(full, plan.source.most))),
                 .remedy = fmt::format(
                     "Set the voltage with no board connected, then connect the board and check it under "
                     "load. The screw can be set to about {}; fix it with a drop of varnish.",
                     shown(full * kTrimmerAdjustability, 1))});
}

}  // namespace

std::vector<Figure> supply_figures(const SupplyPlan& plan, const SupplySpreads& spreads) {
  std::vector<Figure> out;
  add_margins(plan, spreads, out);
  add_voltages(plan, spreads, out);
  add_source(plan, spreads, out);
  add_heat(plan, spreads, out);
  add_regulator(plan, spreads, out);
  return out;
}

std::vector<Note> supply_notes(const SupplyPlan& plan) {
  std::vector<Note> out;
  out.push_back({.text = "Where a range is quoted (dropout, heat resistance, efficiency), the plan takes its "
                         "cautious end; \"90 of 100\" are drawn evenly from the whole range. The voltages "
                         "are those of a board that streams as usual; heat, fuse and source are held "
                         "against one that streams at its most."});
  out.push_back(tolerance_note());
  if (plan.buck != nullptr) {
    note_the_trimmer(plan, out);
    out.push_back({.text = plan.knows_ripple()
                               ? "At small currents the coil runs empty between two pulses; the ripple is "
                                 "then less than reckoned here."
                               : "The ripple is not known for this kind of regulator, whose modules differ: "
                                 "read coil and capacitor off yours and give them (inductance, "
                                 "output-capacitor, output-esr)."});
  }
  if (!plan.source.usb)
    out.push_back({.text =
                       "A fuse stands where its wire begins. It protects the wire; it does not protect the "
                       "board, and a shorted board does not blow the fuse at the source, since the "
                       "regulator takes little from it then: hence the second one."});
  if (!plan.source.gives)
    out.push_back({.text = "Whether the source can give this besides what its machine takes is not judged: "
                           "read the label, take off "
                           "the machine's own current, and give the rest as source-current."});
  if (!plan.source.usb)
    out.push_back({.text = "Fuses have to be rated for the direct voltage that they break: 32 V or more, for "
                           "a 24 V supply."});
  out.push_back({.text =
                     "The chip maker asks for a supply that can give 0.5 A, the board's maker for 5 V and "
                     "2 A. Short peaks are what a capacitor at the board is for: see `capacitor`."});
  if (plan.source.key == "power-bank")
    out.push_back({.text = "A power bank may switch itself off while the board sleeps: see `battery`."});
  if (plan.source.mains_inside) out.push_back(mains_caution());
  if (!plan.source.usb) out.push_back(short_caution());
  if (plan.source.key == "power-bank") out.push_back(lithium_caution());
  out.push_back(wiring_caution());
  if (plan.buck != nullptr) out.push_back(solder_caution());
  if (plan.lamp != LampUse::never) out.push_back(lamp_caution());
  return out;
}

}  // namespace rookery::plan
