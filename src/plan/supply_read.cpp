// What was asked of "supply", made into one plan; what does not go together is refused here.
#include <fmt/format.h>

#include "plan/quantity_text.h"
#include "plan/safe_side.h"
#include "plan/strand_choice.h"
#include "plan/supply_plan.h"

namespace rookery::plan {
namespace {

using base::Error;
using base::ErrorCode;

Error refusal(std::string_view field, std::string detail, std::string remedy) {
  return {ErrorCode::invalid_value, fmt::format("supply: {}", field), std::move(detail), std::move(remedy)};
}

LampUse lamp_of(const Values& values) {
  const std::string_view word = values.choice("lamp");
  return word == "never" ? LampUse::never : word == "steady" ? LampUse::steady : LampUse::picture;
}

base::Result<Source> source_of(const Values& values) {
  Source source{.key = "other",
                .name = "Another source of low voltage",
                .nominal = 0_V,
                .least = 0_V,
                .most = 0_V,
                .gives = std::nullopt,
                .mains_inside = true,  // nobody knows: what to be careful about is said
                .origin = "your own value ± 10 %, common practice, no source"};
  if (const Source* usual = find_source(values.choice("source"))) {
    source = *usual;
    if (values.has("source-voltage")) {
      // The bounds move with it.
      const double share = (values.volts("source-voltage") / usual->nominal).value();
      source.nominal = values.volts("source-voltage");
      source.least *= share;
      source.most *= share;
    }
  } else if (values.has("source-voltage")) {
    source.nominal = values.volts("source-voltage");
    source.least = 0.9 * source.nominal;
    source.most = 1.1 * source.nominal;
  } else {
    return refusal("source-voltage", "is missing: of another source only you know the voltage",
                   "give it, such as 19 V");
  }
  if (values.has("source-least")) source.least = values.volts("source-least");
  if (values.has("source-most")) source.most = values.volts("source-most");
  if (values.has("source-least") || values.has("source-most")) source.origin = "your own value";
  if (values.has("source-current")) {
    source.gives = values.amperes("source-current");
    source.gives_origin = "your own value";
  }
  if (source.least > source.nominal || source.most < source.nominal) {
    return refusal("source-least",
                   fmt::format("the source has {}, which does not lie between its least ({}) and its highest "
                               "({}) voltage",
                               shown(source.nominal), shown(source.least), shown(source.most)),
                   "give source-least, source-voltage and source-most in rising order");
  }
  return source;
}

std::string kinds_that_bear(Volts input) {
  std::string out;
  for (const BuckKind& kind : buck_kinds()) {
    if (kind.input_most >= input) out += fmt::format("{}{}", out.empty() ? "" : " or ", kind.key);
  }
  return out.empty() ? "no kind known here bears it: bring the voltage down first"
                     : "choose regulator=" + out;
}

base::Result<void> check_buck(const SupplyPlan& plan) {
  const BuckKind& kind = *plan.buck;
  if (plan.source.most > kind.input_most) {
    return refusal(
        "regulator",
        fmt::format("{} bears {} at the most, and this source may reach {}: it would be destroyed, "
                    "and may take the board with it",
                    kind.name, shown(kind.input_most), shown(plan.source.most)),
        kinds_that_bear(plan.source.most));
  }
  if (plan.set_point > plan.board_most) {
    return refusal("set-point",
                   fmt::format("{} is more than the {} that the board's 5 V pin may get: parts of the board "
                               "would be destroyed",
                               shown(plan.set_point), shown(plan.board_most)),
                   fmt::format("set it to {} or less",
                               show_value(shown_at_most((plan.board_most / (1 + plan.set_spread)).value(),
                                                        Kind::voltage),
                                          Kind::voltage)));
  }
  if (plan.set_point < kind.reference) {
    return refusal("set-point",
                   fmt::format("{} is less than the regulator's own reference of {}", shown(plan.set_point),
                               shown(kind.reference)),
                   "such a regulator cannot be set lower: 5.2 V is usual");
  }
  const Volts needed = plan.input_needed_at_regulator();
  if (plan.source.least < needed) {
    return refusal("regulator",
                   fmt::format("this source may fall to {}, and the regulator needs {} to give {}: it only "
                               "steps down",
                               shown(plan.source.least), shown(needed), shown(plan.set_point)),
                   "choose regulator=none for a 5 V source, or a source of 9 V and more");
  }
  return {};
}

base::Result<void> check_none(const SupplyPlan& plan, const Values& values) {
  if (was_given(values, "set-point")) {
    return refusal("set-point", "without a regulator nothing can be set",
                   "leave it out, or choose a regulator");
  }
  if (plan.source.nominal > plan.board_most) {
    return refusal(
        "regulator",
        fmt::format("without a regulator the board's 5 V pin gets the source's {}; it bears {}: the "
                    "board would be destroyed",
                    shown(plan.source.nominal), shown(plan.board_most)),
        kinds_that_bear(plan.source.most));
  }
  return {};
}

base::Result<void> check_currents(const SupplyPlan& plan) {
  if (plan.currents.streaming_most < plan.currents.streaming) {
    return refusal("streaming-most",
                   fmt::format("{} at the most are less than {} as usual",
                               shown(plan.currents.streaming_most), shown(plan.currents.streaming)),
                   "look whether the two are exchanged");
  }
  if (plan.currents.peak() < plan.currents.streaming || plan.currents.streaming < plan.currents.rest) {
    return refusal(
        "streaming",
        fmt::format("at rest {}, streaming {}, at the peak {} (chip-peak + others): these must rise",
                    shown(plan.currents.rest), shown(plan.currents.streaming), shown(plan.currents.peak())),
        "give rest, streaming, chip-peak and others so that each is more than the one before");
  }
  return {};
}

void read_regulator(SupplyPlan& plan, const Values& values) {
  plan.buck = find_buck(values.choice("regulator"));
  if (plan.buck == nullptr) {
    plan.set_point = plan.source.nominal;
    plan.frequency = plan.frequency_least = 1_Hz;
  } else {
    const BuckKind& kind = *plan.buck;
    plan.set_point = values.volts("set-point");
    plan.set_spread = std::max((kind.reference_most / kind.reference).value() - 1,
                               1 - (kind.reference_least / kind.reference).value());
    plan.efficiency_least = kind.efficiency_least;
    plan.efficiency_most = kind.efficiency_most;
    plan.frequency = kind.frequency;
    plan.frequency_least = kind.frequency_least;
    if (values.has("set-spread")) plan.set_spread = values.ratio("set-spread");
    plan.efficiency_source = kind.efficiency_source;
    if (values.has("efficiency")) {
      plan.efficiency_least = plan.efficiency_most = values.ratio("efficiency");
      plan.efficiency_source = "your own value";
    }
    if (values.has("frequency")) plan.frequency = plan.frequency_least = values.hertz("frequency");
  }
  plan.buck_to_air = values.kelvins_per_watt("buck-heat-resistance");
}

// What lies around the regulator: as given, else as usual modules of its kind have it, else not known.
void read_module(SupplyPlan& plan, const Values& values) {
  if (plan.buck == nullptr) return;
  if (const auto& usual = plan.buck->module) {
    plan.r1 = usual->r1;
    plan.trimmer = usual->trimmer;
    plan.turns = usual->turns;
    plan.inductance = usual->inductance;
    plan.output_capacitor = usual->output_capacitor;
    plan.output_esr = usual->output_esr;
  }
  if (values.has("r1")) plan.r1 = values.ohms("r1");
  if (values.has("trimmer")) plan.trimmer = values.ohms("trimmer");
  if (values.has("turns")) plan.turns = values.count("turns");
  if (values.has("inductance")) plan.inductance = values.henries("inductance");
  if (values.has("output-capacitor")) plan.output_capacitor = values.farads("output-capacitor");
  if (values.has("output-esr")) plan.output_esr = values.ohms("output-esr");
}

void read_board(SupplyPlan& plan, const Values& values) {
  plan.lamp = lamp_of(values);
  plan.currents = {values.amperes("rest"),         values.amperes("streaming"),
                   values.amperes("chip-peak"),    values.amperes("others"),
                   values.amperes("lamp-current"), values.amperes("streaming-most")};
  if (!was_given(values, "streaming-most")) {
    // Whoever measured a board knows what it takes, and no mean is above its peak.
    Amperes& most = plan.currents.streaming_most;
    most = was_given(values, "streaming") ? plan.currents.streaming : std::min(most, plan.currents.peak());
    most = std::max(most, plan.currents.streaming);
  }
  plan.current_spread = values.ratio("current-spread");
  plan.board_most = values.volts("board-most");
  plan.chip_least = values.choice("chip") == "older" ? 2.7_V : 3.0_V;
  plan.brown_out = brown_out_threshold(values.count("brown-out-level"));
  plan.rail_path = values.ohms("rail-path");
  plan.linear_to_air = values.kelvins_per_watt("linear-heat-resistance");
  // A value of the person's own is one value.
  plan.linear_to_air_least =
      was_given(values, "linear-heat-resistance") ? plan.linear_to_air : regulator_1117::kJunctionToAirLeast;
}

}  // namespace

base::Result<SupplyPlan> supply_plan(const Values& values) {
  const auto source = source_of(values);
  if (!source) return source.error();
  SupplyPlan plan;
  plan.source = *source;
  plan.boards = values.count("boards");
  plan.length = values.metres("length");
  plan.size = values.wire_size("size");
  plan.strands = strands_of(values);
  plan.air = values.celsius("temperature");
  plan.feed_length = values.metres("feed-length");
  plan.feed_size = values.wire_size("feed-size");
  plan.contacts = values.ohms("contacts");
  plan.fuse = plan.source.usb ? 0_ohm : values.ohms("fuse");
  read_regulator(plan, values);
  read_module(plan, values);
  read_board(plan, values);
  const auto possible = plan.buck == nullptr ? check_none(plan, values) : check_buck(plan);
  if (!possible) return possible.error();
  if (const auto rising = check_currents(plan); !rising) return rising.error();
  return plan;
}

}  // namespace rookery::plan
