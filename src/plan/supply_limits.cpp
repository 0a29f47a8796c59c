// What "supply" is held against, and what to do when it does not hold.
#include <algorithm>

#include <fmt/format.h>

#include "plan/quantity_text.h"
#include "plan/safe_side.h"
#include "plan/supply_plan.h"
#include "plan/usb.h"

namespace rookery::plan {
namespace {

// Sizes that people can still put under a screw or into a plug.
std::string thicker_wire(const SupplyPlan& plan) {
  for (const WireSize& size : usual_wire_sizes()) {
    if (size.area <= plan.size) continue;
    SupplyPlan other = plan;
    other.size = size.area;
    const auto longest = other.longest();
    if (longest && *longest >= plan.length) return fmt::format("take {} or more for this length", size.name);
  }
  return {};
}

// The highest set point that leaves the board's pin in its limit.
Volts most_for_board(const SupplyPlan& plan) {
  return Volts::from_value(shown_at_most((plan.board_most / (1 + plan.set_spread)).value(), Kind::voltage));
}

// How the pin gets more, by the regulator: a set point, or a thicker wire that leaves room for one.
void add_ways_of_regulator(const SupplyPlan& plan, std::vector<std::string>& ways) {
  const SetPointSpan range = plan.range(plan.size);
  const bool can_be_set = !range.empty() && plan.set_point < range.least;
  if (can_be_set) {
    ways.push_back(fmt::format("set the regulator to {} (from {} to {} all holds)",
                               shown(range.middle(), range.digits), shown(range.least, range.digits),
                               shown(range.most, range.digits)));
  }
  for (const WireSize& size : usual_wire_sizes()) {
    if (size.area <= plan.size) continue;
    const SetPointSpan wider = plan.range(size.area);
    if (wider.empty()) continue;
    const bool as_set = plan.set_point >= wider.least;
    if (can_be_set && !as_set) continue;
    ways.push_back(
        fmt::format("take {} or more for this length{}", size.name,
                    as_set ? "" : " and set the regulator to " + shown(wider.middle(), wider.digits)));
    break;
  }
}

std::string more_at_the_pin(const SupplyPlan& plan) {
  std::vector<std::string> ways;
  if (plan.buck != nullptr) {
    add_ways_of_regulator(plan, ways);
  } else if (const std::string wire = thicker_wire(plan); !wire.empty()) {
    ways.push_back(wire);
  }
  const auto longest = plan.longest();
  if (longest && *longest < plan.length)
    ways.push_back(
        fmt::format("shorten this wire to {}",
                    show_value(shown_at_most(longest->value(), Kind::length, 2), Kind::length, 2)));
  if (plan.buck == nullptr)
    ways.emplace_back(
        "feed a regulator beside the board from 12 V or 24 V, and set it to 5.2 V before the board is "
        "connected");
  if (ways.empty())
    ways.emplace_back("put the regulator beside the board, so that the wire carries the higher voltage");
  std::string out;
  for (const std::string& way : ways) out += (out.empty() ? "" : "; or ") + way;
  out[0] = static_cast<char>(out[0] - 'a' + 'A');
  return out + ".";
}

// The worst case of the pin against the most that a regulator may need; where that does not hold, what is
// usual against the need as planned. The second is never more than tight.
Limit pin_limit(const SupplyPlan& plan, const SupplySpreads& spreads, const std::string& remedy) {
  const Spreading pin = spreads.pin(plan.worst_mode());
  Limit limit{.key = "pin",
              .label = fmt::format("Board pin, {}", words_of(plan.worst_mode())),
              .kind = Kind::voltage,
              .value = pin.nominal,
              .bound = plan.pin_needed().value(),
              .at_most = false,
              .source =
                  "the most that a 1117 regulator may need: 3.399 V out, from memory, and 1.3 V dropout, as "
                  "quoted by others from data sheets",
              .remedy = remedy};
  if (pin.spread.low >= limit.bound) return judged(std::move(limit), pin.spread, 0.01);
  limit.bound = input_needed(LinearRegulator{}).value();
  limit.source = fmt::format(
      "3.3 V and 1.3 V dropout of a 1117 regulator, as quoted by others from data sheets; in the worst case "
      "up to {}, its output's range from memory",
      shown(plan.pin_needed()));
  // From here to the most that may be needed it is tight: 4.60 to 4.70 V is 2.2 %.
  return judged(std::move(limit), pin.spread, 0.025);
}

void add_voltages(const SupplyPlan& plan, const SupplySpreads& spreads, std::vector<Limit>& out) {
  const Mode worst = plan.worst_mode();
  const std::string remedy = more_at_the_pin(plan);
  out.push_back(pin_limit(plan, spreads, remedy));
  const Spreading feed = spreads.of(SupplyOutput::feed);
  out.push_back(judged({.key = "pin-most",
                        .label = "Board pin, asleep",
                        .kind = Kind::voltage,
                        .value = feed.nominal,
                        .bound = plan.board_most.value(),
                        .source = "board-most: 5 V parts + 10 %, common practice, unless you gave your own",
                        .remedy = plan.buck == nullptr ? "Put a regulator between, or take another source."
                                                       : fmt::format("Set the regulator to {} or less.",
                                                                     shown(most_for_board(plan)))},
                       feed.spread, 0.01));
  const Spreading chip = spreads.chip(worst);
  out.push_back(judged({.key = "chip",
                        .label = fmt::format("Chip, {}", words_of(worst)),
                        .kind = Kind::voltage,
                        .value = chip.nominal,
                        .bound = plan.chip_least.value(),
                        .at_most = false,
                        .source = "least supply of the module, chip maker's data sheet",
                        .remedy = remedy},
                       chip.spread, 0.01));
  out.push_back(
      judged({.key = "brown-out",
              .label = fmt::format("Chip before it resets, {}", words_of(worst)),
              .kind = Kind::voltage,
              .value = chip.nominal,
              .bound = (plan.brown_out + kBrownOutSpread).value(),
              .at_most = false,
              .source = fmt::format("brown-out at {} ± 0.05 V, chip maker's sources", shown(plan.brown_out)),
              .remedy = remedy},
             chip.spread, 0.05));
}

void add_board_regulator(const SupplyPlan& plan, const SupplySpreads& spreads, std::vector<Limit>& out) {
  out.push_back(judged({.key = "linear-current",
                        .label = "Through the board's regulator, worst case",
                        .kind = Kind::current,
                        .value = plan.current_most().value(),
                        .bound = regulator_1117::kCurrentLimitLeast.value(),
                        .source = "least current limit of the 1117 family, as quoted by others from data "
                                  "sheets",
                        .remedy = "Leave the lamp off, or feed it from the 5 V pin through a transistor."},
                       0.05));
  const Spreading junction = spreads.of(SupplyOutput::linear_junction);
  out.push_back(judged(
      {.key = "linear-junction",
       .label = fmt::format("Inside the board's regulator, {} at its most", words_of(plan.warming_mode())),
       .kind = Kind::temperature,
       .value = junction.nominal,
       .bound = kJunctionMost.degrees,
       .source = "usual limit of such parts, from memory",
       .remedy = "Light the lamp for pictures only, give the board moving air, or glue a heat "
                 "sink on the regulator."},
      junction.spread, 0.05));
  // The sensor works from −30 to 70 °C, and its picture is stable from 0 to 50 °C: tight between the two.
  const bool cold = plan.air < 0_C;
  out.push_back(
      judged({.key = "air",
              .label = "Air around the board",
              .kind = Kind::temperature,
              .value = plan.air.degrees,
              .bound = cold ? -30.0 : 70.0,
              .at_most = !cold,
              .source = "the sensor works from −30 to 70 °C, its picture is stable from 0 to 50 °C, from "
                        "memory",
              .remedy = cold ? "The picture may be off: put the board where it does not freeze."
                             : "The picture gets noisy: move the board away from the heat."},
             cold ? 1.0 : 0.285));
}

void add_buck(const SupplyPlan& plan, const SupplySpreads& spreads, std::vector<Limit>& out) {
  const BuckKind& kind = *plan.buck;
  out.push_back(
      judged({.key = "input",
              .label = "Source at its highest",
              .kind = Kind::voltage,
              .value = plan.source.most.value(),
              .bound = kind.input_most.value(),
              .source = std::string(kind.source),
              .remedy = fmt::format("Little is left for overshoot when the supply is switched on or a "
                                    "motor brakes: {} bears {}.",
                                    buck_kinds().front().key, shown(buck_kinds().front().input_most))},
             0.2));
  const Spreading arrives = spreads.of(SupplyOutput::regulator_input);
  out.push_back(
      judged({.key = "regulator-input",
              .label = fmt::format("What arrives at the regulator, {}", words_of(plan.worst_mode())),
              .kind = Kind::voltage,
              .value = arrives.nominal,
              .bound = plan.input_needed_at_regulator().value(),
              .at_most = false,
              .source = fmt::format("the most that it may be asked for and {}; {} at the least, {}",
                                    kind.headroom_source, shown(kind.input_least), kind.source),
              .remedy = "Take a thicker or shorter wire to the regulator, fewer boards, or a source of a "
                        "higher voltage."},
             arrives.spread, 0.05));
  out.push_back(judged({.key = "buck-current",
                        .label = "Through the buck regulator, worst case",
                        .kind = Kind::current,
                        .value = (plan.current_most() * static_cast<double>(plan.boards)).value(),
                        .bound = kind.most.value(),
                        .source = std::string(kind.source),
                        .remedy = "Give some of the boards a regulator of their own."},
                       0.2));
  const Spreading junction = spreads.of(SupplyOutput::buck_junction);
  out.push_back(
      judged({.key = "buck-junction",
              .label = "Inside the buck regulator",
              .kind = Kind::temperature,
              .value = junction.nominal,
              .bound = kJunctionMost.degrees,
              .source = "usual limit of such parts, from memory",
              .remedy = "Give some of the boards a regulator of their own, or a heat sink to this one."},
             junction.spread, 0.05));
}

// A port that is asked for more than it gives only for an instant may bear it; one that is asked for more
// all the time does not.
void add_source_current(const SupplyPlan& plan, const SupplySpreads& spreads, std::vector<Limit>& out) {
  if (!plan.source.gives) return;
  const Spreading steady = spreads.of(SupplyOutput::source_steady);
  const Spreading peak = spreads.of(SupplyOutput::source_peak);
  const double bound = plan.source.gives->value();
  Limit limit{.key = "source-current",
              .label = fmt::format("Taken from the source, {} at its most", words_of(plan.lit_mode())),
              .kind = Kind::current,
              .value = steady.nominal,
              .bound = bound,
              .source = std::string(plan.source.gives_origin),
              .remedy = "Take a source that gives more: the board's maker asks for 5 V and 2 A."};
  limit = judged(std::move(limit), steady.spread, 0.05);
  if (limit.verdict == Verdict::holds && peak.spread.high > bound) {
    limit.verdict = Verdict::tight;
    limit.remedy = fmt::format(
        "At the {} it is {} for an instant, more than the source promises: take one that "
        "gives more, or a capacitor at the board.",
        words_of(plan.worst_mode()), show_value(peak.spread.high, Kind::current));
  }
  out.push_back(std::move(limit));
}

// The fuse that the source's end of the feed gets must let that wire stay cool as well.
void add_feed(const SupplyPlan& plan, const SupplySpreads& spreads, std::vector<Limit>& out) {
  const Amperes most = Amperes::from_value(spreads.of(SupplyOutput::source_steady).spread.high);
  const auto fuse = fuse_for(most);
  out.push_back(judged(
      {.key = "fuse-source",
       .label = fuse ? "Fuse at the source" : "Current of all boards, for which no fuse up to 10 A is made",
       .kind = Kind::current,
       .value = fuse.value_or(most / 0.75).value(),
       .bound = largest_fuse(plan.feed_size).value(),
       .source = std::string(kFuseSource),
       .remedy = "Take a thicker wire from the source to the regulator (feed-size), or feed the boards in "
                 "groups."},
      0.0));
}

void add_wire(const SupplyPlan& plan, std::vector<Limit>& out) {
  if (plan.source.usb) {
    const Amperes half_an_ampere = 0.5_A;
    out.push_back(
        judged({.key = "usb-drop",
                .label = "Lost in one conductor of the cable at 0.5 A",
                .kind = Kind::voltage,
                .value = (0.5 * plan.wire() * half_an_ampere + 2.0 * kUsbContact * half_an_ampere).value(),
                .bound = kUsbConductorDrop.value(),
                .source = "USB 2.0, section 7.2.2, from memory",
                .remedy = "Take a shorter or a thicker cable (see the table)."},
               0.05));
    return;
  }
  const auto fuse = fuse_for(plan.current_most());
  out.push_back(
      judged({.key = "fuse",
              .label = fuse ? "Fuse where the wire begins" : "Current, for which no fuse up to 10 A is made",
              .kind = Kind::current,
              .value = fuse.value_or(plan.current_most() / 0.75).value(),
              .bound = largest_fuse(plan.size).value(),
              .source = std::string(kFuseSource),
              .remedy = "Take a thicker wire: a fuse that carries this current would let this wire "
                        "get hot."},
             0.0));
}

}  // namespace

std::vector<Limit> supply_limits(const SupplyPlan& plan, const SupplySpreads& spreads) {
  std::vector<Limit> out;
  add_voltages(plan, spreads, out);
  add_board_regulator(plan, spreads, out);
  if (plan.buck != nullptr) add_buck(plan, spreads, out);
  add_source_current(plan, spreads, out);
  if (plan.buck != nullptr) add_feed(plan, spreads, out);
  add_wire(plan, out);
  return out;
}

}  // namespace rookery::plan
