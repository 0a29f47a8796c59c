// The subject "view": how its numbers come about.
#include <fmt/format.h>

#include "plan/view_plan.h"

namespace rookery::plan {
namespace {

constexpr std::string_view kGeometry = "geometry, of a lens that keeps lines straight";

Step lens_step(const ViewPlan& plan) {
  const Sensor& sensor = plan.sensor;
  if (plan.lens_by == LensBy::focal_length) {
    return {"Angles of view", "α = 2 · atan(size / 2f)",
            fmt::format("2 · atan({} / (2 · {})) = {} across the diagonal", shown(sensor.diagonal()),
                        shown(plan.focal), shown(angle_of_view(sensor.diagonal(), plan.focal))),
            std::string(kGeometry)};
  }
  const bool across = plan.lens_by == LensBy::horizontal;
  const Metres size = across ? sensor.width() : sensor.diagonal();
  return {"Focal length", across ? "f = width / (2 · tan(α/2))" : "f = diagonal / (2 · tan(α/2))",
          fmt::format("{} / (2 · tan({} / 2)) = {}", shown(size), shown(plan.lens_angle), shown(plan.focal)),
          plan.lens_by == LensBy::usual
              ? std::string(kGeometry) + "; 68° as sellers state it, taken as the diagonal"
              : std::string(kGeometry)};
}

void add_target_steps(const ViewPlan& plan, std::vector<Step>& steps) {
  const Metres pixel = plan.picture.pixel;
  steps.push_back(
      {"Pixels on a metre, in the middle", "N = f / (pixel · distance)",
       fmt::format("{} / ({} · {}) = {}", shown(plan.focal), shown(pixel), given(plan.target.distance),
                   shown(plan.middle())),
       std::string(kGeometry) + fmt::format("; right to {:.1f} % here",
                                            (plan.focal / (plan.near_depth - plan.focal)).value() * 100)});
  if (plan.bed) {
    steps.push_back({"The whole bed is in the picture from",
                     "d = D/2 · sin t + max(W · f / w, D · cos t · f / h)",
                     fmt::format("{} / 2 · sin {} + max({} · {} / {}, {} · cos {} · {} / {}) = {}",
                                 given(plan.bed->depth), shown(plan.target.tilt), given(plan.bed->width),
                                 shown(plan.focal), shown(plan.picture.width()), given(plan.bed->depth),
                                 shown(plan.target.tilt), shown(plan.focal), shown(plan.picture.height()),
                                 shown(plan.bed_from())),
                     std::string(kGeometry) + "; its near edge decides"});
    const Metres layer = plan.layer();
    steps.push_back({"Pixels on a layer, in the middle", "n = layer · N · sin t",
                     fmt::format("{} · {} · sin {} = {} px", given(layer), shown(plan.middle()),
                                 shown(plan.target.tilt), shown_px(plan.detail_px(layer))),
                     std::string(kGeometry) + "; a layer stands up from the bed"});
  } else if (plan.target.tilt.degrees > 0) {
    const std::string far = plan.visible.far ? shown(plan.target.depth_at(*plan.visible.far)) : "beyond all";
    steps.push_back(
        {"Edges of the picture on the target, along the axis", "z = d · cos t / (cos t ± tan(v/2) · sin t)",
         fmt::format("v = {}: {} · cos {} / (cos {} ± tan(v/2) · sin {}) = {} and {}",
                     shown(angle_of_view(plan.picture.height(), plan.focal)), given(plan.target.distance),
                     shown(plan.target.tilt), shown(plan.target.tilt), shown(plan.target.tilt),
                     shown(plan.target.depth_at(plan.visible.near)), far),
         std::string(kGeometry)});
  }
}

void add_focus_steps(const ViewPlan& plan, std::vector<Step>& steps) {
  steps.push_back({"Hyperfocal distance", "H = f² / (K · c) + f",
                   fmt::format("({})² / ({:.3g} · {}) + {} = {}", shown(plan.focal), plan.f_number,
                               shown(plan.circle), shown(plan.focal), shown(plan.hyperfocal)),
                   "thin lens; K is the number after f/, c the circle of confusion"});
  if (plan.bed && !plan.focus_given) {
    steps.push_back({"Where to focus", "s = 2 / (1/near + 1/far)",
                     fmt::format("2 / (1/{} + 1/{}) = {}", shown(plan.near_depth), shown(plan.far_depth),
                                 shown(plan.focus)),
                     "thin lens: both edges of the bed are equally sharp"});
  }
  const std::string far = plan.sharp.far ? shown(*plan.sharp.far) : "infinity, as s ≥ H";
  steps.push_back({"Sharp from and to", "near = (H − f) · s / (H + s − 2f); far = (H − f) · s / (H − s)",
                   fmt::format("H = {}, s = {}, f = {}: {} to {}", shown(plan.hyperfocal), shown(plan.focus),
                               shown(plan.focal), shown(plan.sharp.near), far),
                   "thin lens"});
  if (plan.focus >= plan.hyperfocal) return;
  steps.push_back(
      {"The sensor behind the lens", "1/f = 1/s + 1/s'",
       fmt::format("1 / (1/{} − 1/{}): {} farther than for infinity", shown(plan.focal), shown(plan.focus),
                   shown(image_distance(plan.focal, plan.focus) - plan.focal, 2)),
       "thin lens"});
}

void add_light_steps(const ViewPlan& plan, std::vector<Step>& steps) {
  const double turns = (2.0 * plan.mains * plan.exposure).value();
  const std::string mains = show_value(plan.mains.value(), Kind::frequency, 2);
  if (plan.flicker_depth > 0) {
    steps.push_back({"Flicker left", "m · |sin(πx) / (πx)|, x = 2 · mains · exposure",
                     fmt::format("x = 2 · {} · {} = {:.3g}; {} · |sin(πx) / (πx)| = {}", mains,
                                 shown(plan.exposure), turns, show_value(plan.flicker_depth, Kind::ratio),
                                 show_value(plan.flicker(), Kind::ratio, 2)),
                     "mean of a sine over the exposure: lamps flicker at twice the mains frequency"});
  }
  if (plan.readout && plan.flicker_depth > 0) {
    const Readout& readout = *plan.readout;
    steps.push_back({"Bands from top to bottom", "bands = used lines / (lines · rate) · 2 · mains",
                     fmt::format("{} / ({} · {}) = {}; · 2 · {} = {:.2f}", readout.used_lines, readout.lines,
                                 show_value(readout.rate.value(), Kind::rate, 2), shown(readout.picture()),
                                 mains, readout.bands(plan.mains)),
                     plan.usual_sensor ? "lines a frame from memory, frames a second from the maker's "
                                         "datasheet v1.6, as quoted by others"
                                       : "lines and rate as given"});
  }
  if (plan.speed) {
    const PerMetre density = plan.density(plan.near_depth);
    steps.push_back({"Blur by motion", "b = speed · exposure · N",
                     fmt::format("{} · {} · {} = {} px", show_value(plan.speed->value(), Kind::speed),
                                 shown(plan.exposure), shown(density), shown_px(plan.motion_px())),
                     plan.bed ? "geometry, at the bed's near edge" : "geometry, in the middle"});
  }
}

}  // namespace

std::vector<Step> view_steps(const ViewPlan& plan) {
  std::vector<Step> steps = {lens_step(plan)};
  add_target_steps(plan, steps);
  add_focus_steps(plan, steps);
  add_light_steps(plan, steps);
  return steps;
}

}  // namespace rookery::plan
