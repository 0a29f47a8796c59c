// The subject "view": its tables.
#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "plan/view_plan.h"

namespace rookery::plan {
namespace {

std::string number_of(PerMetre density) {
  return fmt::format("{:.{}f} px/m", density.value(), density.value() < 9.95 ? 1 : 0);
}

// What is judged is the farthest part that counts.
Table tasks_table(const ViewPlan& plan) {
  Table table{"What the picture is good for (IEC/EN 62676-4:2014)",
              {"Task", "To see", "Needs", "Out to", plan.bed ? "At the far edge" : "Here", "Its density"},
              {}};
  for (const Task& task : tasks()) {
    if (&task == plan.task) table.chosen = table.rows.size();
    table.rows.push_back({std::string(task.key), std::string(task.sees),
                          fmt::format("{:g} px/m", task.density.value()), at_most(plan.out_to(task.density)),
                          plan.density(plan.far_depth) >= task.density ? "yes" : "no",
                          task.source.ends_with("memory") ? "from memory" : "as quoted by others"});
  }
  return table;
}

Table places_table(const ViewPlan& plan) {
  Table table{plan.bed ? "Across the bed" : "From the lower to the upper edge of the picture",
              {"Where", "Along the axis", "Across", "Along the slope"},
              {}};
  if (plan.bed) table.columns.emplace_back("Upright (layers)");
  table.columns.emplace_back("A pixel covers");
  table.columns.emplace_back("Sharp");
  const auto add = [&](std::string_view where, Metres along) {
    const Metres depth = plan.target.depth_at(along);
    const PerMetre across = plan.density(depth);
    table.rows.push_back({std::string(where), shown(depth), number_of(across),
                          number_of(density_along(plan.focal, plan.picture.pixel, plan.target, along))});
    if (plan.bed) {
      const PerMetre upright = density_upright(plan.focal, plan.picture.pixel, plan.target, along);
      table.rows.back().push_back(upright.value() < 0.5 ? "from above: none" : number_of(upright));
    }
    table.rows.back().push_back(shown(1.0 / across));
    table.rows.back().emplace_back(plan.blur_px(depth) <= plan.circle_px * (1 + 1e-9) ? "yes" : "no");
  };
  const Metres half = plan.bed ? plan.bed->depth / 2.0 : 0_m;
  add("near edge", plan.bed ? -half : plan.visible.near);
  add("middle", 0_m);
  if (plan.bed || plan.visible.far) add("far edge", plan.bed ? half : *plan.visible.far);
  return table;
}

Table sizes_table(const ViewPlan& plan) {
  struct Size {
    int width;
    int height;
  };
  static constexpr std::array kSizes = {Size{1600, 1200}, Size{1280, 1024}, Size{1024, 768}, Size{800, 600},
                                        Size{640, 480},   Size{400, 296},   Size{320, 240}};
  const Metres layer = plan.layer();
  Table table{"Other picture sizes from here",
              {"Size", "In the middle", "A pixel covers",
               plan.bed ? "A layer of " + given(layer) : std::string("Serves to")},
              {}};
  for (const Size& size : kSizes) {
    if (size.width > plan.sensor.width_px || size.height > plan.sensor.height_px) continue;
    if (size.width == plan.picture.width_px && size.height == plan.picture.height_px)
      table.chosen = table.rows.size();
    const Picture picture = picture_on(plan.sensor, size.width, size.height);
    const PerMetre middle = density_at(plan.focal, picture.pixel, plan.target.distance);
    const Task* task = finest_task(middle);
    const double layer_px = plan.detail_px(layer) * (plan.picture.pixel / picture.pixel).value();
    table.rows.push_back(
        {fmt::format("{} × {}", size.width, size.height), number_of(middle), shown(1.0 / middle),
         plan.bed ? shown_px(layer_px) + " px" : std::string(task == nullptr ? "nothing" : task->key)});
  }
  return table;
}

Table exposures_table(const ViewPlan& plan) {
  Table table{"Exposures", {"Exposure", "Flicker left"}, {}};
  if (plan.speed) table.columns.emplace_back("Blur by motion");
  const auto add = [&](Seconds exposure) {
    table.rows.push_back({shown(exposure), show_value(flicker_left(plan.mains, exposure, plan.flicker_depth),
                                                      Kind::ratio, 2)});
    if (plan.speed) {
      table.rows.back().push_back(
          shown_px(motion_blur_px(*plan.speed, exposure, plan.density(plan.near_depth))) + " px");
    }
  };
  std::vector<Seconds> exposures = {clean_exposure(plan.mains, 1) / 10.0,
                                    clean_exposure(plan.mains, 1) / 2.0};
  for (const int n : {1, 2, 3, 4}) exposures.push_back(clean_exposure(plan.mains, n));
  if (plan.speed)
    exposures.push_back(longest_exposure(*plan.speed, plan.density(plan.near_depth), kMostBlurPx));
  if (plan.exposure_given) exposures.push_back(plan.exposure);
  std::sort(exposures.begin(), exposures.end());
  const auto same = [](Seconds a, Seconds b) { return std::abs((a / b).value() - 1) < 1e-6; };
  exposures.erase(std::unique(exposures.begin(), exposures.end(), same), exposures.end());
  for (const Seconds& exposure : exposures) {
    if (same(exposure, plan.exposure)) table.chosen = table.rows.size();
    add(exposure);
  }
  return table;
}

}  // namespace

std::vector<Table> view_tables(const ViewPlan& plan) {
  std::vector<Table> tables;
  if (!plan.bed || plan.task != nullptr) tables.push_back(tasks_table(plan));
  if (plan.bed || plan.target.tilt.degrees > 0) tables.push_back(places_table(plan));
  tables.push_back(sizes_table(plan));
  if (plan.speed || plan.exposure_given) tables.push_back(exposures_table(plan));
  return tables;
}

}  // namespace rookery::plan
