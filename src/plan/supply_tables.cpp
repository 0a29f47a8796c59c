// The tables of "supply": each point in each mode, other set points, other wires, what the radio asks for.
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "plan/quantity_text.h"
#include "plan/safe_side.h"
#include "plan/supply_plan.h"
#include "plan/usb.h"

namespace rookery::plan {
namespace {

Table points_table(const SupplyPlan& plan) {
  Table table{"Voltages as planned, without tolerances",
              {"", "Current", "Source", "Regulator's input", "Its output", "Board pin", "3.3 V rail", "Chip"},
              {}};
  const Chain chain = plan.chain();
  for (const Mode mode : plan.modes()) {
    const Points points = points_at(chain, plan.current_in(mode));
    table.rows.push_back(
        {std::string(words_of(mode)), shown(plan.current_in(mode)), shown(plan.source.nominal),
         plan.buck == nullptr ? "none" : level_text(plan.at_regulator(plan.current_in(mode)).arrives),
         plan.buck == nullptr ? "none" : shown(chain.feed), level_text(points.pin), level_text(points.rail),
         level_text(points.chip)});
  }
  return table;
}

std::string verdict_at(const SupplyPlan& plan, const SetPointSpan& range, Volts set, Volts lowest) {
  if (set * (1 + plan.set_spread) > plan.board_most) return "too high for the board";
  if (lowest < plan.pin_needed()) return fmt::format("{} short", shown(plan.pin_needed() - lowest));
  return set > range.most ? fmt::format("too high: {}", range.upper) : "holds";
}

Table set_points_table(const SupplyPlan& plan) {
  Table table{
      "Other set points over this wire, in the worst case",
      {"Set point", fmt::format("Board pin, {}", words_of(plan.worst_mode())), "Board pin, asleep", ""},
      {}};
  const SetPointSpan range = plan.range(plan.size);
  const Volts lost = (plan.wire() + plan.contacts_most()) * plan.current_most();
  for (const double volts : {4.8, 4.9, 5.0, 5.1, 5.2, 5.3, 5.4, 5.5}) {
    const Volts set = Volts::from_value(volts);
    const Volts lowest = std::max(set * (1 - plan.set_spread) - lost, 0_V);
    const Volts highest = set * (1 + plan.set_spread);
    if (std::abs((set - plan.set_point).value()) < 0.005) table.chosen = table.rows.size();
    table.rows.push_back(
        {shown(set, 2), level_text(lowest), shown(highest), verdict_at(plan, range, set, lowest)});
  }
  return table;
}

Table wires_table(const SupplyPlan& plan) {
  Table table{"Other wires of this length", {"Size", "Lost in it", "Longest that holds", "Largest fuse"}, {}};
  if (plan.source.usb)
    table.columns.emplace_back("Longest USB cable, 125 mV a conductor at 0.5 A, 5 m for the signal");
  for (const WireSize& size : usual_wire_sizes()) {
    // Much thicker than what is needed helps nobody.
    if (size.area > 2.0 * std::max(plan.size, 0.5_mm2)) break;
    SupplyPlan other = plan;
    other.size = size.area;
    if (std::abs(size.area.value() / plan.size.value() - 1) < 0.01) table.chosen = table.rows.size();
    const auto longest = other.longest();
    table.rows.push_back(
        {std::string(size.name), shown(other.wire() * plan.current_most()),
         longest ? show_value(shown_at_most(longest->value(), Kind::length), Kind::length) : "none",
         shown(largest_fuse(size.area))});
    if (!plan.source.usb) continue;
    const auto cable = longest_usb_cable(resistance_per_metre(size.area, plan.strands, plan.air), 0.5_A);
    table.rows.back().push_back(cable ? shown_cable(*cable) : "none");
  }
  return table;
}

// Average and peak of a packaged module. Source: its data sheet.
struct RadioRow {
  std::string_view words;
  double average_a;
  double peak_a;
};
constexpr std::array kRadio = {
    RadioRow{"802.11b, as far from the access point", 0.233, 0.368},
    RadioRow{"802.11g, 54 Mbit/s", 0.181, 0.258},
    RadioRow{"802.11n, MCS7", 0.178, 0.248},
    RadioRow{"receiving", 0.110, 0.111},
};

Table radio_table(const SupplyPlan& plan) {
  Table table{"What the radio's module takes, by its data sheet",
              {"While it transmits", "Average", "Peak", "Board pin at the peak"},
              {}};
  const Chain chain = plan.chain();
  const Amperes others = plan.currents.others + (plan.lamp == LampUse::never ? 0_A : plan.currents.lamp);
  for (const RadioRow& row : kRadio) {
    const Amperes peak = Amperes::from_value(row.peak_a);
    if (std::abs(row.peak_a - plan.currents.chip_peak.value()) < 0.0005) table.chosen = table.rows.size();
    table.rows.push_back({std::string(row.words), shown(Amperes::from_value(row.average_a)), shown(peak),
                          level_text(points_at(chain, peak + others).pin)});
  }
  return table;
}

}  // namespace

std::vector<Table> supply_tables(const SupplyPlan& plan) {
  std::vector<Table> out{points_table(plan)};
  if (plan.buck != nullptr) out.push_back(set_points_table(plan));
  out.push_back(wires_table(plan));
  out.push_back(radio_table(plan));
  return out;
}

}  // namespace rookery::plan
