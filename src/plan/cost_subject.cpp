// The subject "cost": a parts list with the person's own prices, for one camera and for the fleet.
#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include <fmt/format.h>

#include "base/printable.h"
#include "plan/cost_plan.h"
#include "plan/subject.h"

namespace rookery::plan {
namespace {

constexpr std::array kFields = {
    Field{.key = "cameras",
          .label = "Cameras in use",
          .kind = Kind::count,
          .least = "1",
          .most = "1000",
          .example = "6"},
    Field{
        .key = "parts",
        .label = "Parts and prices, an entry a line or parted by ;",
        .kind = Kind::words,
        .why =
            "NAME 9.80; NAME 2 x 1.10; NAME 3 m at 0.40; NAME 4 of 100 for 3.20 (a pack of 100); `per 4:` in "
            "front for one for every four cameras, `shared:` for one for all; # begins a remark",
        .example = "board module 9.80; case 1.10; wire 3 m at 0.40; screws 4 of 100 for 3.20; "
                   "per 4: regulator 6.00; shared: access point 45.00"},
    Field{.key = "spares",
          .label = "Cameras built in addition, to lie in the drawer",
          .kind = Kind::ratio,
          .least = "0 %",
          .most = "200 %",
          .preset = "10 %",
          .why = "one of ten, rounded up; common practice, no source"},
    Field{.key = "budget",
          .label = "What it may cost in all",
          .kind = Kind::money,
          .least = "0.01",
          .most = "1000000000",
          .may_be_absent = true},
};

std::string number(double value) { return fmt::format("{:.6g}", value); }

std::string serves(const Part& part) {
  if (part.shared()) return "all";
  return part.cameras == 1 ? "each camera" : fmt::format("{} cameras", part.cameras);
}

std::string with_unit(double value, const Part& part) {
  return part.unit.empty() ? number(value) : fmt::format("{} {}", number(value), part.unit);
}

std::string bought_words(const Part& part, const PartCost& cost) {
  if (part.pack <= 0) return with_unit(cost.bought, part);
  const double packs = std::round(cost.bought / part.pack);
  return fmt::format("{} pack{} of {}", number(packs), packs == 1 ? "" : "s", number(part.pack));
}

Table parts_table(const CostPlan& plan) {
  Table table{"Parts", {"Part", "One serves", "Takes", "Needed", "To buy", "Price", "Cost", "Share"}, {}};
  const double total = plan.total();
  for (const Part& part : plan.list.parts) {
    const PartCost cost = cost_of(part, plan.fleet);
    table.rows.push_back({part.name, serves(part), with_unit(part.quantity, part),
                          with_unit(cost.needed, part), bought_words(part, cost), plan.amount(part.price),
                          plan.amount(cost.cost),
                          total > 0 ? show_value(cost.cost / total, Kind::ratio, 2) : "0 %"});
  }
  table.rows.push_back({"All", "", "", "", "", "", plan.amount(total), "100 %"});
  return table;
}

Table fleets_table(const CostPlan& plan) {
  Table table{"Other numbers of cameras", {"Cameras", "Spares", "In all", "For each in use"}, {}};
  std::vector<int> sizes = {1, 3, 6, 12, 25, 50, 100};
  if (std::find(sizes.begin(), sizes.end(), plan.fleet.cameras) == sizes.end())
    sizes.insert(std::upper_bound(sizes.begin(), sizes.end(), plan.fleet.cameras), plan.fleet.cameras);
  for (const int cameras : sizes) {
    if (cameras == plan.fleet.cameras) table.chosen = table.rows.size();
    const Fleet fleet = plan.fleet_of(cameras);
    const double total = plan.total_for(fleet);
    table.rows.push_back({std::to_string(cameras), std::to_string(fleet.spares), plan.amount(total),
                          plan.amount(total / cameras)});
  }
  return table;
}

std::vector<Figure> figures_of(const CostPlan& plan) {
  const CostParts parts = parted(plan);
  const double total = plan.total();
  const auto money = [](std::string key, std::string label, double value, std::string note = {}) {
    return Figure{.key = std::move(key),
                  .label = std::move(label),
                  .kind = Kind::money,
                  .value = value,
                  .note = std::move(note)};
  };
  return {
      money("total", "All", total, plan.list.money),
      money("each", "For each camera in use, all of it dealt out", total / plan.fleet.cameras),
      money("one", "Parts of one camera", plan.in_one(), "packs dealt out, nothing that serves several"),
      money("cameras", "In the cameras in use", parts.in_cameras,
            fmt::format("{} of them", plan.fleet.cameras)),
      money("spares", "In spare cameras", parts.in_spares, fmt::format("{} of them", plan.fleet.spares)),
      money("groups", "In what serves several", parts.in_groups),
      money("shared", "In what serves all", parts.in_shared),
      money("left-over", "Left over in packs", parts.left_over, "bought, but not needed"),
  };
}

const Part& dearest(const CostPlan& plan) {
  return *std::max_element(plan.list.parts.begin(), plan.list.parts.end(), [&](const Part& a, const Part& b) {
    return cost_of(a, plan.fleet).cost < cost_of(b, plan.fleet).cost;
  });
}

// The most cameras that the budget is enough for; each more never costs less.
int within(const CostPlan& plan, double budget) {
  int cameras = 0;
  while (cameras < plan.fleet.cameras && plan.total_for(plan.fleet_of(cameras + 1)) <= budget) ++cameras;
  return cameras;
}

std::vector<Limit> limits_of(const CostPlan& plan, std::optional<double> budget) {
  if (!budget) return {};
  const Part& most = dearest(plan);
  return {judged({.key = "budget",
                  .label = "All",
                  .kind = Kind::money,
                  .value = plan.total(),
                  .bound = *budget,
                  .at_most = true,
                  .source = "your own budget",
                  .remedy = fmt::format("It is enough for {} of {} cameras. Most goes into \"{}\" ({}).",
                                        within(plan, *budget), plan.fleet.cameras, base::printable(most.name),
                                        plan.amount(cost_of(most, plan.fleet).cost))},
                 0.05)};
}

std::vector<Step> steps_of(const CostPlan& plan) {
  const CostParts parts = parted(plan);
  std::string sum;
  int more = 0;
  for (const Part& part : plan.list.parts) {
    if (part.cameras != 1) continue;
    if (sum.size() > 160) {
      ++more;
      continue;
    }
    sum += fmt::format("{}{} · {}", sum.empty() ? "" : " + ", with_unit(part.quantity, part),
                       part.pack > 0 ? fmt::format("{} / {}", plan.amount(part.price), number(part.pack))
                                     : plan.amount(part.price));
  }
  if (more > 0) sum += fmt::format(" + {} more", more);
  return {
      {"Cameras built", "built = cameras + ⌈cameras · spares⌉",
       fmt::format("{} + ⌈{} · {}⌉ = {}", plan.fleet.cameras, plan.fleet.cameras,
                   show_value(plan.spare_share, Kind::ratio), plan.fleet.cameras + plan.fleet.spares),
       "arithmetic"},
      {"Parts of one camera", "Σ quantity · price",
       sum.empty() ? "no entry is for each camera = " + plan.amount(0)
                   : fmt::format("{} = {}", sum, plan.amount(plan.in_one())),
       "your own prices"},
      {"All", "in use + spares + serves several + serves all + left over in packs",
       fmt::format("{} + {} + {} + {} + {} = {}", plan.amount(parts.in_cameras), plan.amount(parts.in_spares),
                   plan.amount(parts.in_groups), plan.amount(parts.in_shared), plan.amount(parts.left_over),
                   plan.amount(plan.total())),
       "your own prices; spares take what a camera takes, but nothing that serves several"},
  };
}

base::Result<Answer> answer(const Values& values) {
  auto list = read_parts(values.text("parts"), "cost: parts");
  if (!list) return list.error();
  CostPlan plan;
  plan.list = std::move(*list);
  plan.spare_share = values.ratio("spares");
  plan.fleet = plan.fleet_of(values.count("cameras"));
  const double total = plan.total();
  Answer out;
  out.headline =
      fmt::format("{} camera{} cost{} {}: {} for each, of which {} are its own parts", plan.fleet.cameras,
                  plan.fleet.cameras == 1 ? "" : "s", plan.fleet.cameras == 1 ? "s" : "", plan.amount(total),
                  plan.amount(total / plan.fleet.cameras), plan.amount(plan.in_one()));
  out.figures = figures_of(plan);
  out.limits = limits_of(plan, values.has("budget") ? std::optional(values.number("budget")) : std::nullopt);
  out.tables = {parts_table(plan), fleets_table(plan)};
  out.steps = steps_of(plan);
  out.notes = {
      {.text = "Nothing is added to your prices: no tax, postage, tools or hours, unless they stand in the "
               "list."},
      {.text = "Often forgotten: regulator, wire, fuse and its holder, capacitor, connectors, case, screws, "
               "aerial, card, a share of the access point and of the disk, postage."},
  };
  out.drawing = cost_drawing(plan);
  return out;
}

}  // namespace

Subject cost_subject() {
  return {
      .key = "cost",
      .title = "Cost",
      .question = "What does one camera cost, and the whole fleet with what it shares, at your own prices?",
      .fields = kFields,
      .answer = &answer,
  };
}

}  // namespace rookery::plan
