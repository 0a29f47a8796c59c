#include "plan/view_plan.h"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "plan/safe_side.h"

namespace rookery::plan {
namespace {

using base::Error;
using base::ErrorCode;

// Nearer than so many focal lengths, pixels on a metre are more than 11 % beside the truth.
constexpr double kNearestFocals = 10;
constexpr Degrees kWidest{120};

Error refused(std::string_view key, std::string detail, std::string remedy) {
  return {ErrorCode::invalid_value, fmt::format("view: {}", key), std::move(detail), std::move(remedy)};
}

std::optional<Error> read_sensor(const Values& values, ViewPlan& plan) {
  plan.sensor = {values.metres("pixel"), values.pixels("sensor-width"), values.pixels("sensor-height")};
  const Sensor usual = usual_sensor();
  plan.usual_sensor = plan.sensor.width_px == usual.width_px && plan.sensor.height_px == usual.height_px;
  const int width = values.pixels("width");
  if (width > plan.sensor.width_px) {
    return refused(
        "width",
        fmt::format("a picture {} px wide does not come from a sensor of {} px", width, plan.sensor.width_px),
        fmt::format("give a width of at most {} px: what is blown up shows nothing more",
                    plan.sensor.width_px));
  }
  const int shaped =
      std::max(1, static_cast<int>(static_cast<long>(width) * plan.sensor.height_px / plan.sensor.width_px));
  const int height = values.has("height") ? values.pixels("height") : shaped;
  if (height > plan.sensor.height_px) {
    return refused("height",
                   fmt::format("a picture {} px high does not come from a sensor of {} px", height,
                               plan.sensor.height_px),
                   fmt::format("give a height of at most {} px", plan.sensor.height_px));
  }
  plan.picture = picture_on(plan.sensor, width, height);
  return std::nullopt;
}

std::optional<Error> read_lens(const Values& values, ViewPlan& plan) {
  static constexpr std::array kKeys = {"focal-length", "diagonal-angle", "horizontal-angle"};
  std::string_view given;
  for (const std::string_view key : kKeys) {
    if (!values.has(key)) continue;
    if (!given.empty()) {
      return refused(key, fmt::format("the lens is described twice, by this and by {}", given),
                     "give one of focal-length, diagonal-angle and horizontal-angle");
    }
    given = key;
  }
  plan.lens_angle = kUsualLens;
  if (given == "focal-length") {
    plan.lens_by = LensBy::focal_length;
    plan.focal = values.metres(given);
  } else if (given == "horizontal-angle") {
    plan.lens_by = LensBy::horizontal;
    plan.lens_angle = values.degrees(given);
    plan.focal = focal_length(plan.sensor.width(), plan.lens_angle);
  } else {
    plan.lens_by = given.empty() ? LensBy::usual : LensBy::diagonal;
    if (!given.empty()) plan.lens_angle = values.degrees(given);
    plan.focal = focal_length(plan.sensor.diagonal(), plan.lens_angle);
  }
  const Degrees diagonal = angle_of_view(plan.sensor.diagonal(), plan.focal);
  if (diagonal.degrees > kWidest.degrees + 1e-6) {
    return refused(given,
                   fmt::format("{} is {} across the diagonal of this sensor: so wide a lens is a fish-eye, "
                               "for which these formulas do not hold",
                               values.text(given), shown(diagonal)),
                   fmt::format("give a lens of at most 120° across the diagonal, here a focal length of at "
                               "least {}",
                               at_least(focal_length(plan.sensor.diagonal(), kWidest))));
  }
  plan.f_number = values.number("f-number");
  plan.circle_px = values.number("circle");
  plan.circle = plan.picture.pixel * plan.circle_px;
  return std::nullopt;
}

std::optional<Error> read_target(const Values& values, ViewPlan& plan) {
  plan.target = {values.metres("distance"), values.degrees("tilt")};
  plan.near_depth = plan.far_depth = plan.target.distance;
  if (values.has("bed-width") != values.has("bed-depth")) {
    const bool width = values.has("bed-width");
    return refused(width ? "bed-depth" : "bed-width",
                   fmt::format("is missing, though {} is there", width ? "bed-width" : "bed-depth"),
                   "give both, or neither");
  }
  const Metres nearest = kNearestFocals * plan.focal;
  if (values.has("bed-width")) {
    plan.bed = Bed{values.metres("bed-width"), values.metres("bed-depth")};
    plan.near_depth = plan.target.depth_at(-plan.bed->depth / 2.0);
    plan.far_depth = plan.target.depth_at(plan.bed->depth / 2.0);
    if (plan.near_depth < nearest) {
      return refused(
          "distance",
          fmt::format("the bed's near edge is beside or behind the lens, {} from the bed's middle",
                      values.text("distance")),
          fmt::format("give at least {}, from which on the whole bed is in the picture",
                      at_least(std::max(plan.bed_from(), nearest + plan.target.distance - plan.near_depth))));
    }
  } else if (plan.near_depth < nearest) {
    return refused(
        "distance",
        fmt::format("{} is nearer than ten focal lengths ({}), where these formulas no longer hold",
                    values.text("distance"), shown(plan.focal)),
        fmt::format("give at least {}", at_least(nearest)));
  }
  plan.visible = visible_stretch(plan.picture, plan.focal, plan.target);
  return std::nullopt;
}

std::optional<Error> read_focus(const Values& values, ViewPlan& plan) {
  plan.focus_given = values.has("focus");
  plan.focus = plan.focus_given ? values.metres("focus") : best_focus(plan.near_depth, plan.far_depth);
  if (plan.focus < kNearestFocals * plan.focal) {
    return refused(
        "focus",
        fmt::format("{} is nearer than ten focal lengths ({}), where these formulas no longer hold",
                    values.text("focus"), shown(plan.focal)),
        fmt::format("give at least {}", at_least(kNearestFocals * plan.focal)));
  }
  plan.hyperfocal = hyperfocal_distance(plan.focal, plan.f_number, plan.circle);
  plan.sharp = sharp_range(plan.hyperfocal, plan.focal, plan.focus);
  return std::nullopt;
}

std::optional<Error> read_readout(const Values& values, ViewPlan& plan) {
  const bool lines = values.has("lines");
  const bool rate = values.has("frame-rate");
  if (plan.usual_sensor) plan.readout = usual_readout(plan.picture.width_px, plan.picture.height_px);
  if (!lines && !rate) return std::nullopt;
  if (!plan.readout && lines != rate) {
    return refused(lines ? "frame-rate" : "lines",
                   "is missing, and of this sensor and picture no usual one is known",
                   "give both lines and frame-rate, or neither: without them no bands are counted");
  }
  Readout readout = plan.readout.value_or(Readout{});
  if (rate) readout.rate = Hertz::from_value(values.number("frame-rate"));
  if (lines) {
    readout.lines = values.count("lines");
    readout.used_lines = lines_that_fit(plan.sensor.height_px, readout.lines);
  }
  if (readout.used_lines < plan.picture.height_px) {
    return refused(
        "lines",
        fmt::format("a frame of {} lines holds {} of this sensor's, too few for a picture {} px high",
                    readout.lines, readout.used_lines, plan.picture.height_px),
        "give the sensor's lines for this picture, or a smaller width");
  }
  plan.readout = readout;
  return std::nullopt;
}

}  // namespace

double ViewPlan::detail_px(Metres size) const {
  const Metres here = 0_m;
  const PerMetre density = bed ? density_upright(focal, picture.pixel, target, here)
                               : density_along(focal, picture.pixel, target, here);
  return (size * density).value();
}

double ViewPlan::blur_px(Metres depth) const {
  return (blur_circle(focal, f_number, focus, depth) / picture.pixel).value();
}

double ViewPlan::worst_blur_px() const { return std::max(blur_px(near_depth), blur_px(far_depth)); }

base::Result<ViewPlan> view_plan_of(const Values& values) {
  ViewPlan plan;
  for (const auto read : {read_sensor, read_lens, read_target, read_focus, read_readout}) {
    if (auto error = read(values, plan)) return *error;
  }
  if (values.has("task")) plan.task = find_task(values.choice("task"));
  if (values.has("detail")) plan.detail = values.metres("detail");
  if (values.has("speed")) plan.speed = values.metres_per_second("speed");
  plan.mains = values.hertz("mains");
  plan.flicker_depth = values.ratio("flicker-depth");
  plan.exposure_given = values.has("exposure");
  plan.exposure = plan.exposure_given ? values.seconds("exposure") : clean_exposure(plan.mains, 1);
  return plan;
}

std::string shown(Metres length, int digits) { return show_value(length.value(), Kind::length, digits); }
std::string given(Metres length) {
  std::string text = shown(length);
  const std::size_t space = text.find(' ');
  const std::string unit = text.substr(space);
  text.resize(space);
  if (text.find('.') == std::string::npos) return text + unit;
  text.resize(text.find_last_not_of('0') + 1);
  if (text.ends_with('.')) text.pop_back();
  return text + unit;
}
std::string shown(Degrees angle) { return show_value(angle.degrees, Kind::angle); }
std::string at_least(Metres bound) {
  return show_value(shown_at_least(bound.value(), Kind::length), Kind::length);
}
std::string at_most(Metres bound) {
  return show_value(shown_at_most(bound.value(), Kind::length), Kind::length);
}
std::string at_most(Seconds bound) {
  return show_value(shown_at_most(bound.value(), Kind::duration), Kind::duration);
}
std::string shown(Seconds time) { return show_value(time.value(), Kind::duration); }
std::string shown(PerMetre density) { return show_value(density.value(), Kind::density); }
std::string shown_px(double pixels) {
  return fmt::format("{:.{}f}", pixels, std::abs(pixels) < 9.95 ? 1 : 0);
}

}  // namespace rookery::plan
