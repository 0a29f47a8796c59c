// The subject "supply": from the source to the chip, which set point, and what it all costs in heat.
#include <cctype>

#include <fmt/format.h>

#include "plan/quantity_text.h"
#include "plan/subject.h"
#include "plan/supply_plan.h"

namespace rookery::plan {
namespace {

std::string set_points_words(const SupplyPlan& plan) {
  if (plan.buck == nullptr) return {};
  const SetPointSpan range = plan.range(plan.size);
  if (range.empty())
    return fmt::format("; over this wire no set point holds in the worst case ({} takes {} or more, {} {})",
                       range.lower, shown(range.least), range.upper,
                       range.most > 0_V ? fmt::format("takes {} or less", shown(range.most)) : "none at all");
  return fmt::format("; set points from {} ({}) to {} ({}) hold in the worst case",
                     shown(range.least, range.digits), range.lower, shown(range.most, range.digits),
                     range.upper);
}

std::string headline_of(const SupplyPlan& plan, const Answer& answer) {
  const Chain chain = plan.chain();
  const Points points = points_at(chain, plan.current_in(plan.worst_mode()));
  const std::string from = plan.buck == nullptr ? shown(plan.source.nominal) + " straight from the source"
                                                : shown(plan.set_point) + " at the regulator";
  std::string out = fmt::format("{} leave {} at the board's pin and {} at the chip ({})", from,
                                level_text(points.pin), level_text(points.chip), words_of(plan.worst_mode()));
  if (const Limit& pin = answer.limit("pin"); pin.verdict == Verdict::fails)
    out += fmt::format("; the pin may need {}", shown(plan.pin_needed()));
  const Limit* nearest = answer.nearest_limit();
  const bool of_voltage = nearest->key == "pin" || nearest->key == "chip" || nearest->key == "brown-out";
  if (nearest->verdict == Verdict::fails && !of_voltage) {
    std::string label = nearest->label;
    label[0] = static_cast<char>(std::tolower(static_cast<unsigned char>(label[0])));
    out += fmt::format("; {}: {}, but {} {}", label, show_value(nearest->value, nearest->kind),
                       nearest->at_most ? "at most" : "at least", show_value(nearest->bound, nearest->kind));
  }
  return out + set_points_words(plan);
}

// The choice's own words, as the person read them.
std::string chosen_words(const Values& values, std::string_view key) {
  for (const Values::Entry& entry : values.entries()) {
    if (entry.field->key != key) continue;
    for (const Choice& choice : entry.field->choices) {
      if (choice.key == entry.text) return std::string(choice.label);
    }
  }
  return {};
}

std::vector<SheetPart> parts_of(const SupplyPlan& plan, const Values& values, const Answer& answer) {
  std::vector<SheetPart> out = {{"Source", plan.source.key == "other"
                                               ? shown(plan.source.nominal) + ", with a fuse"
                                               : chosen_words(values, "source")}};
  if (plan.buck != nullptr) out.push_back({"Regulator", chosen_words(values, "regulator")});
  for (const Figure& figure : answer.figures) {
    if (figure.key == "fuse-source" || figure.key == "fuse-wire")
      out.push_back({figure.label, show_value(figure.value, figure.kind)});
  }
  if (plan.buck != nullptr)
    out.push_back(
        {"Wire to the regulator", fmt::format("two conductors of {}, each {} long", values.text("feed-size"),
                                              values.text("feed-length"))});
  out.push_back({"Wire to the board", fmt::format("two conductors of {}, each {} long", values.text("size"),
                                                  values.text("length"))});
  return out;
}

base::Result<Answer> answer(const Values& values) {
  const auto plan = supply_plan(values);
  if (!plan) return plan.error();
  const SupplySpreads spreads(*plan);
  Answer out;
  out.figures = supply_figures(*plan, spreads);
  out.limits = supply_limits(*plan, spreads);
  out.tables = supply_tables(*plan);
  out.steps = supply_steps(*plan);
  out.headline = headline_of(*plan, out);
  out.notes = supply_notes(*plan);
  out.parts = parts_of(*plan, values, out);
  out.drawing = supply_drawing(*plan, spreads);
  return out;
}

}  // namespace

Subject supply_subject() {
  return {"supply", "Supply",
          "Which source, regulator and set point keep every point up to the chip within its limits?",
          supply_fields(), answer};
}

}  // namespace rookery::plan
