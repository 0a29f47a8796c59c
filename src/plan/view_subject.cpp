// The subject "view": where the camera stands against what its picture shows, how finely, how sharply, and
// what lamps and movement do to it.
#include <cmath>

#include <fmt/format.h>

#include "plan/cautions.h"
#include "plan/subject.h"
#include "plan/view_plan.h"

namespace rookery::plan {
namespace {

std::string_view seen(double pixels) {
  return pixels >= kLeastDetailPx ? "enough to see it" : "too little to see it";
}

std::string bed_words(const ViewPlan& plan) {
  const std::string from = at_least(plan.bed_from());
  const std::string fits =
      plan.bed_fits() ? fmt::format("The whole bed is in the picture (it is from {} on)", from)
                      : fmt::format("The bed is not whole in the picture, which it is from {} on", from);
  const double pixels = plan.detail_px(plan.layer());
  const std::string layer = plan.from_above()
                                ? "from above no layers are seen"
                                : fmt::format("a layer of {} is {} px high, {}", given(plan.layer()),
                                              shown_px(pixels), seen(pixels));
  return fmt::format("{}; in its middle a pixel covers {}, and {}", fits, shown(1.0 / plan.middle()), layer);
}

std::string target_words(const ViewPlan& plan) {
  std::string out = fmt::format("At {} the picture covers {} across with {}, a pixel {}",
                                given(plan.target.distance), shown(plan.covered_width(plan.target.distance)),
                                shown(plan.middle()), shown(1.0 / plan.middle()));
  if (plan.detail) {
    const double pixels = plan.detail_px(*plan.detail);
    return out + fmt::format(", and a detail of {} is {} px, {}", given(*plan.detail), shown_px(pixels),
                             seen(pixels));
  }
  const Task* task = finest_task(plan.middle());
  out += task == nullptr ? ": too few even to monitor" : fmt::format(": enough to {}", task->key);
  const Task* next = task == nullptr ? &tasks().front() : task + 1;
  if (next == tasks().data() + tasks().size()) return out;
  return out + fmt::format("; to {}, come to {}", next->key, at_most(plan.out_to(next->density)));
}

std::string headline_of(const ViewPlan& plan) {
  std::string out = plan.bed ? bed_words(plan) : target_words(plan);
  if (plan.worst_blur_px() > plan.circle_px) {
    out += plan.bed ? "; not all of the bed is sharp" : "; it is not sharp";
  }
  if (plan.flicker() > kMostFlicker)
    out += fmt::format("; lamps leave bands of ±{}", show_value(plan.flicker(), Kind::ratio, 2));
  if (plan.speed) out += fmt::format("; what moves smears over {} px", shown_px(plan.motion_px()));
  return out;
}

void add_lengths(const ViewPlan& plan, std::vector<Figure>& figures) {
  const auto length = [&](std::string key, std::string label, Metres value, std::string note = {}) {
    figures.push_back({.key = std::move(key),
                       .label = std::move(label),
                       .kind = Kind::length,
                       .value = value.value(),
                       .note = std::move(note)});
  };
  const auto density = [&](std::string key, std::string label, Metres depth) {
    figures.push_back({.key = std::move(key),
                       .label = std::move(label),
                       .kind = Kind::density,
                       .value = plan.density(depth).value()});
  };
  const Target& target = plan.target;
  length("covers", "The picture covers, across the middle", plan.covered_width(target.distance));
  if (plan.visible.far) {
    length("covers-up", "From its lower to its upper edge", *plan.visible.far - plan.visible.near,
           target.tilt.degrees > 0 ? "along the slope" : "");
  }
  density("density", "Pixels on a metre, in the middle", target.distance);
  if (plan.bed) {
    density("density-near", "At the bed's near edge", plan.near_depth);
    density("density-far", "At the bed's far edge", plan.far_depth);
  } else if (target.tilt.degrees > 0) {
    density("density-near", "At the picture's lower edge", target.depth_at(plan.visible.near));
    if (plan.visible.far)
      density("density-far", "At the picture's upper edge", target.depth_at(*plan.visible.far));
  }
  length("pixel", "A pixel covers, in the middle", 1.0 / plan.middle());
  if (!plan.bed) return;
  length("height", "Lens above the bed", target.distance * std::cos(target.tilt.radians()));
  length("setback", "Lens in front of the bed's middle", target.distance * std::sin(target.tilt.radians()),
         "level");
  length("bed-from", "The whole bed is in the picture from", plan.bed_from(), "along the axis");
}

void add_lens(const ViewPlan& plan, std::vector<Figure>& figures) {
  figures.push_back({.key = "focal-length",
                     .label = "Focal length",
                     .kind = Kind::length,
                     .value = plan.focal.value(),
                     .note = plan.lens_by == LensBy::usual ? "the usual lens, 68° across the diagonal" : ""});
  const auto angle = [&](std::string key, std::string label, Metres size) {
    figures.push_back({.key = std::move(key),
                       .label = std::move(label),
                       .kind = Kind::angle,
                       .value = angle_of_view(size, plan.focal).degrees});
  };
  angle("angle", "Angle of view, from left to right", plan.picture.width());
  angle("angle-up", "Angle of view, up and down", plan.picture.height());
  const auto length = [&](std::string key, std::string label, Metres value, std::string note = {}) {
    figures.push_back({.key = std::move(key),
                       .label = std::move(label),
                       .kind = Kind::length,
                       .value = value.value(),
                       .note = std::move(note)});
  };
  length("focus", plan.focus_given ? "Focused at" : "Focus at", plan.focus);
  length("sharp-near", "Sharp from", plan.sharp.near, plan.sharp.far ? "" : "to infinity");
  if (plan.sharp.far) length("sharp-far", "Sharp to", *plan.sharp.far);
  length("hyperfocal", "Hyperfocal distance", plan.hyperfocal,
         fmt::format("focused there, sharp from {} to infinity", shown(plan.hyperfocal / 2.0)));
  length("circle", "Circle of confusion, on the sensor", plan.circle);
}

void add_light(const ViewPlan& plan, std::vector<Figure>& figures) {
  const std::string note = plan.exposure_given ? ""
                           : plan.flicker_depth > 0
                               ? fmt::format("and multiples of it: no bands under lamps on {} mains",
                                             show_value(plan.mains.value(), Kind::frequency, 2))
                               : "taken for the blur";
  if (plan.exposure_given || plan.speed || plan.flicker_depth > 0) {
    figures.push_back({.key = "exposure",
                       .label = "Exposure",
                       .kind = Kind::duration,
                       .value = plan.exposure.value(),
                       .note = note});
  }
  if (plan.exposure_given && plan.flicker_depth > 0) {
    figures.push_back({.key = "flicker",
                       .label = "Flicker of the lamps left in the picture",
                       .kind = Kind::ratio,
                       .value = plan.flicker() < 1e-9 ? 0 : plan.flicker(),
                       .digits = 2});
  }
  if (plan.readout && plan.flicker_depth > 0) {
    const Readout& readout = *plan.readout;
    figures.push_back(
        {.key = "bands",
         .label = "Bands under lamps, exposed otherwise",
         .kind = Kind::number,
         .value = readout.bands(plan.mains),
         .note = fmt::format("read out in {}, {} a line; exposed for {:.1f} lines", shown(readout.picture()),
                             shown(readout.line()), readout.lines_exposed(plan.exposure))});
  }
  if (!plan.speed) return;
  const PerMetre density = plan.density(plan.near_depth);
  figures.push_back({.key = "blur",
                     .label = "Blur by motion, in pixels",
                     .kind = Kind::number,
                     .value = plan.motion_px(),
                     .note = plan.bed ? "at the bed's near edge" : ""});
  figures.push_back({.key = "longest-exposure",
                     .label = "Longest exposure for one pixel of blur",
                     .kind = Kind::duration,
                     .value = longest_exposure(*plan.speed, density, kMostBlurPx).value()});
}

void add_notes(const ViewPlan& plan, std::vector<Note>& notes) {
  if (!plan.bed && !plan.visible.far) {
    notes.push_back({.text = "The picture's upper edge looks past the target: it shows what lies behind."});
  }
  // A lens that was set for a room need not be touched where it is sharp anyhow.
  if (plan.lens_by == LensBy::usual && !plan.focus_given && plan.near_depth < plan.hyperfocal / 2.0) {
    notes.push_back(
        {.text = fmt::format("The usual lens is screwed in and held by a drop of glue: loosen it and "
                             "turn it while looking at print {} away (from memory).",
                             shown(plan.focus))});
  }
  if (angle_of_view(plan.sensor.diagonal(), plan.focal).degrees > 90) {
    notes.push_back({.text =
                         "So wide a lens bends straight lines, which this sum leaves out: expect the edges "
                         "to show more, with fewer pixels on a metre (from memory)."});
  }
  if (plan.picture.width_px * plan.sensor.height_px != plan.picture.height_px * plan.sensor.width_px) {
    notes.push_back({.text = fmt::format("{} × {} has another shape than the sensor: its sides, or top and "
                                         "bottom, are taken to be cut off evenly.",
                                         plan.picture.width_px, plan.picture.height_px)});
  }
  if (!plan.readout && plan.flicker_depth > 0) {
    notes.push_back({.text =
                         "How this sensor reads such a picture is not known here: with lines and frame-rate "
                         "given, bands are counted."});
  }
  if (plan.readout && plan.exposure > 1.0 / plan.readout->rate) {
    notes.push_back(
        {.text = fmt::format("Exposed for {}, the sensor gives no more than {} pictures.",
                             shown(plan.exposure), show_value((1.0 / plan.exposure).value(), Kind::rate))});
  }
  if (!plan.bed || plan.task != nullptr) {
    notes.push_back({.text =
                         "The tasks count pixels only: a picture that is dark, blurred or hard compressed "
                         "serves less. They are those of the edition of "
                         "2014: another may have levels of its own."});
    notes.push_back(filming_caution());
  }
}

base::Result<Answer> answer(const Values& values) {
  const auto plan = view_plan_of(values);
  if (!plan) return plan.error();
  Answer out;
  out.headline = headline_of(*plan);
  add_lengths(*plan, out.figures);
  add_lens(*plan, out.figures);
  add_light(*plan, out.figures);
  out.limits = view_limits(*plan);
  out.tables = view_tables(*plan);
  out.steps = view_steps(*plan);
  add_notes(*plan, out.notes);
  out.parts = {{"Place of the lens", fmt::format("{} from the middle of the target, tilted {}",
                                                 values.text("distance"), values.text("tilt"))}};
  out.drawing = view_drawing(*plan);
  return out;
}

}  // namespace

Subject view_subject() {
  return {"view", "View",
          "What does the picture show from there, how finely, how sharply, and without blur or bands?",
          view_fields(), answer};
}

}  // namespace rookery::plan
