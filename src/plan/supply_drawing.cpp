// The drawing of "supply": the chain with the voltage at each point, and below it where the board's pin may
// lie between its limits.
#include <algorithm>

#include <fmt/format.h>

#include "plan/quantity_text.h"
#include "plan/supply_plan.h"
#include "plan/svg.h"

namespace rookery::plan {
namespace {

constexpr double kWidth = 700;
constexpr double kTop = 44;  // of the boxes
constexpr double kBoxHeight = 70;

void draw_box(Svg& svg, double x, double width, std::string_view name, const std::string& value, Ink ink) {
  svg.rect({x, kTop}, width, kBoxHeight, ink == Ink::accent ? Ink::accent : Ink::line, Ink::wash, 4);
  svg.text({x + width / 2, kTop + 26}, name, Anchor::middle);
  svg.text({x + width / 2, kTop + 52}, value, Anchor::middle, 16, ink);
}

void draw_chain(Svg& svg, const SupplyPlan& plan) {
  const Chain chain = plan.chain();
  const Amperes current = plan.current_in(plan.worst_mode());
  const Points points = points_at(chain, current);
  const bool short_of_it = points.pin < input_needed(chain.regulator);
  const Ink at_pin = short_of_it ? Ink::accent : Ink::trace;
  const double middle = kTop + kBoxHeight / 2;
  svg.text({10, 24}, fmt::format("At the {}: {}", words_of(plan.worst_mode()), shown(current)), Anchor::start,
           14);

  draw_box(svg, 10, 82, "Source", shown(plan.source.nominal), Ink::trace);
  if (plan.buck != nullptr) {
    svg.line({92, middle}, {112, middle}, Ink::line, 3);
    draw_box(svg, 112, 88, "Regulator", shown(plan.set_point), Ink::trace);
  }
  const double begin = plan.buck == nullptr ? 92 : 200;
  svg.line({begin, middle}, {404, middle}, Ink::trace, 3);
  const double wire = (begin + 404) / 2;
  svg.text({wire, middle - 10}, fmt::format("{} of wire", shown(plan.length)), Anchor::middle, 12, Ink::soft);
  svg.text({wire, middle + 20}, fmt::format("{} lost", shown(chain.feed - points.pin)), Anchor::middle, 13,
           at_pin);
  draw_box(svg, 404, 86, "Board pin", level_text(points.pin), at_pin);
  svg.line({490, middle}, {510, middle}, Ink::line, 3);
  draw_box(svg, 510, 86, "3.3 V rail", level_text(points.rail), at_pin);
  svg.line({596, middle}, {616, middle}, Ink::line, 3);
  draw_box(svg, 616, 74, "Chip", level_text(points.chip),
           points.chip < plan.chip_least ? Ink::accent : Ink::trace);
}

// A scale of volts across the drawing.
struct Scale {
  double least;
  double most;

  double x(double volts) const {
    return 40 + (std::clamp(volts, least, most) - least) / (most - least) * 620;
  }
};

void draw_pin(Svg& svg, const SupplyPlan& plan, const SupplySpreads& spreads) {
  const Spreading pin = spreads.pin(plan.worst_mode());
  const Spreading feed = spreads.of(SupplyOutput::feed);
  const double need = plan.pin_needed().value();
  const double most = plan.board_most.value();
  const double low = std::min({pin.spread.low, need, most});
  const double high = std::max({feed.spread.high, need, most});
  const double room = std::max((high - low) * 0.12, 0.1);
  const Scale scale{low - room, high + room};
  constexpr double kAxis = 244;

  svg.text({10, 150}, "Board pin between its limits, tolerances included", Anchor::start, 14);
  if (need < most) {
    svg.rect({scale.x(need), 160}, scale.x(most) - scale.x(need), kAxis - 160, Ink::none, Ink::wash);
  }
  svg.line({40, kAxis}, {660, kAxis}, Ink::line);
  const auto bound = [&](double volts, const std::string& words, double y) {
    svg.line({scale.x(volts), 160}, {scale.x(volts), kAxis + 5}, Ink::soft, 1.5, true);
    const double share = (scale.x(volts) - 40) / 620;
    const Anchor anchor = share < 0.25 ? Anchor::start : share > 0.75 ? Anchor::end : Anchor::middle;
    svg.text({scale.x(volts), y}, words, anchor, 12, Ink::soft);
  };
  bound(need, fmt::format("{}: its regulator may need it", show_value(need, Kind::voltage)), kAxis + 20);
  bound(most, fmt::format("{}: the board's limit", show_value(most, Kind::voltage)), kAxis + 38);

  const auto span = [&](const Spreading& of, double y, std::string_view words) {
    const bool outside = of.spread.low < need || of.spread.high > most;
    const Ink ink = outside ? Ink::accent : Ink::trace;
    svg.line({scale.x(of.spread.low), y}, {scale.x(of.spread.high), y}, ink, 1.5);
    svg.line({scale.x(*of.spread.p5), y}, {scale.x(*of.spread.p95), y}, ink, 6);
    svg.circle({scale.x(of.nominal), y}, 5, ink, Ink::paper);
    const double centre = std::clamp((scale.x(of.spread.low) + scale.x(of.spread.high)) / 2, 170.0, 530.0);
    svg.text({centre, y - 10},
             fmt::format("{}: {} to {}", words, level_text(Volts::from_value(of.spread.low)),
                         level_text(Volts::from_value(of.spread.high))),
             Anchor::middle, 12, ink);
  };
  span(pin, 188, words_of(plan.worst_mode()));
  span(feed, 228, "asleep");
  svg.text({10, 300}, "Thin: the worst case. Thick: 90 of 100 cases. Ring: as planned.", Anchor::start, 12,
           Ink::soft);
}

}  // namespace

std::string supply_drawing(const SupplyPlan& plan, const SupplySpreads& spreads) {
  Svg svg(kWidth, 312, "The chain from the source to the chip, and the board's pin between its limits");
  draw_chain(svg, plan);
  draw_pin(svg, plan, spreads);
  return svg.done();
}

}  // namespace rookery::plan
