// The subject "view": what its numbers are held against, and what to do.
#include <cctype>
#include <cmath>
#include <vector>

#include <fmt/format.h>

#include "plan/view_plan.h"

namespace rookery::plan {
namespace {

// Shares of a bound within which a plan is tight: aim and mount are never exact (common practice, no source).
constexpr double kTightBed = 0.03;
constexpr double kTight = 0.1;
// Three pixels, where two are the least.
constexpr double kTightDetail = 0.5;

bool may_be(std::string_view key, double value) { return takes(view_fields(), key, value); }

std::string bed_remedy(Metres distance) {
  if (!may_be("distance", distance.value()))
    return "Take a lens of a wider angle: no distance that this sum holds for is far enough.";
  return fmt::format("Go back to {}, which leaves a little room, or take a lens of a wider angle.",
                     at_least(distance));
}

Limit bed_limit(const ViewPlan& plan) {
  return judged({.key = "bed",
                 .label = "Distance, for the whole bed to be in the picture",
                 .kind = Kind::length,
                 .value = plan.target.distance.value(),
                 .bound = plan.bed_from().value(),
                 .at_most = false,
                 .source = "geometry",
                 .remedy = bed_remedy(plan.bed_from() * (1 + kTightBed))},
                kTightBed);
}

std::string task_remedy(const ViewPlan& plan, const Task& task, PerMetre here) {
  const bool enough = here >= task.density;
  const PerMetre wanted = task.density * (enough ? 1 + kTight : 1);
  const double times = (wanted / here).value();
  const Metres nearer = plan.target.distance - (plan.far_depth - plan.out_to(wanted));
  const double wider = std::ceil(plan.picture.width_px * times);
  const bool stays_whole = !plan.bed || nearer >= plan.bed_from();
  std::string remedy = enough ? "To have a little more than just enough, " : "";
  // Only what this sum would take when it is typed back in.
  std::vector<std::string> ways;
  if (nearer > 10.0 * plan.focal && stays_whole && may_be("distance", nearer.value()))
    ways.push_back(fmt::format("come to {}", at_most(nearer)));
  if (wider <= plan.sensor.width_px && may_be("width", wider))
    ways.push_back(fmt::format("take a picture {:.0f} px wide", wider));
  if (const Metres focal = plan.focal * times; may_be("focal-length", focal.value()))
    ways.push_back(fmt::format("take a lens of {} or longer", at_least(focal)));
  if (ways.empty()) return "No lens or distance that this sum holds for shows as much: take a second camera.";
  remedy += fmt::format("{}.", fmt::join(ways, ", or "));
  remedy.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(remedy.front())));
  return remedy;
}

Limit task_limit(const ViewPlan& plan, const Task& task) {
  const PerMetre here = plan.density(plan.far_depth);
  return judged({.key = "task",
                 .label = fmt::format("Density to {}{}", task.key, plan.bed ? ", at the far edge," : ""),
                 .kind = Kind::density,
                 .value = here.value(),
                 .bound = task.density.value(),
                 .at_most = false,
                 .source = std::string(task.source),
                 .remedy = task_remedy(plan, task, here)},
                kTight);
}

std::string detail_remedy(const ViewPlan& plan, double pixels) {
  if (plan.bed && plan.from_above()) {
    return "From above a layer has no height to be seen: look more from the side, with a tilt of 60° or "
           "more.";
  }
  const double wanted = pixels < kLeastDetailPx ? kLeastDetailPx : kLeastDetailPx * (1 + kTightDetail);
  const Metres nearer = plan.target.distance * (pixels / wanted);
  const bool full = plan.picture.width_px == plan.sensor.width_px;
  const std::string larger =
      full ? "" : fmt::format(" Or take the sensor's full {} px.", plan.sensor.width_px);
  if (nearer < 10.0 * plan.focal || !may_be("distance", nearer.value())) {
    return "Take a longer lens, or be content with less: no distance that this sum holds for is near "
           "enough." +
           larger;
  }
  const std::string come = fmt::format("For {:.0f} px come to {} or nearer", wanted, at_most(nearer));
  if (!plan.bed) return come + ", or take a longer lens." + larger;
  if (nearer >= plan.bed_from()) return come + ": the whole bed is still in the picture." + larger;
  return come +
         ", where the bed is no longer whole in the picture: at this tilt one picture does not show both. A "
         "second camera close by shows layers." +
         larger;
}

Limit detail_limit(const ViewPlan& plan) {
  const double pixels = plan.detail_px(*plan.detail);
  return judged(
      {.key = "detail",
       .label = fmt::format("{} of {}, in pixels,", plan.bed ? "A layer" : "A detail", given(*plan.detail)),
       .kind = Kind::number,
       .value = pixels,
       .bound = kLeastDetailPx,
       .at_most = false,
       .source = "two pixels at least, common practice, no source; colour and compression want more",
       .remedy = detail_remedy(plan, pixels)},
      kTightDetail);
}

Limit focus_limit(const ViewPlan& plan) {
  ViewPlan best = plan;
  best.focus = best_focus(plan.near_depth, plan.far_depth);
  const bool enough = best.worst_blur_px() <= plan.circle_px;
  std::string remedy;
  const bool may_focus = plan.focus_given && may_be("focus", best.focus.value());
  if (may_focus) remedy = fmt::format("Focus at {}. ", shown(best.focus));
  if (!may_focus || !enough) {
    remedy +=
        "No focus is better than that: go farther back, look less slantingly, or take a smaller aperture (a "
        "larger number after f/).";
  }
  return judged(
      {.key = "focus",
       .label = plan.bed ? "Blur by focus at the bed's edges, in pixels" : "Blur by focus, in pixels",
       .kind = Kind::number,
       .value = plan.worst_blur_px(),
       .bound = plan.circle_px,
       .at_most = true,
       .source = "the circle of confusion",
       .remedy = std::move(remedy)},
      kTight);
}

Limit flicker_limit(const ViewPlan& plan) {
  const Seconds clean = clean_exposure(plan.mains, 1);
  return judged({.key = "flicker",
                 .label = "Flicker of the lamps left in the picture",
                 .kind = Kind::ratio,
                 .value = plan.flicker(),
                 .bound = kMostFlicker,
                 .at_most = true,
                 .source = "common practice, no source",
                 .remedy = fmt::format("Expose for {} or multiples of it, or use lamps that do not flicker.",
                                       shown(clean))},
                kTight);
}

Limit blur_limit(const ViewPlan& plan) {
  const PerMetre density = plan.density(plan.near_depth);
  const double wanted = plan.motion_px() > kMostBlurPx ? kMostBlurPx : kMostBlurPx * (1 - kTight);
  const Seconds longest = longest_exposure(*plan.speed, density, wanted);
  const Seconds clean = clean_exposure(plan.mains, 1);
  std::string remedy = may_be("exposure", longest.value())
                           ? fmt::format("Expose for at most {}, which needs more light.", at_most(longest))
                           : "No exposure that this sum holds for is short enough: let it move more slowly, "
                             "or go farther back.";
  if (plan.flicker_depth > 0 && longest < clean) {
    remedy += fmt::format(
        " That is shorter than the {} without bands: under these lamps there is either blur "
        "or bands.",
        shown(clean));
  }
  return judged({.key = "blur",
                 .label = "Blur by motion, in pixels",
                 .kind = Kind::number,
                 .value = plan.motion_px(),
                 .bound = kMostBlurPx,
                 .at_most = true,
                 .source = "common practice, no source",
                 .remedy = std::move(remedy)},
                kTight);
}

}  // namespace

std::vector<Limit> view_limits(const ViewPlan& plan) {
  std::vector<Limit> limits;
  if (plan.bed) limits.push_back(bed_limit(plan));
  // What serves not even the coarsest task is of no use, whatever was asked.
  const bool useless = !plan.bed && !plan.detail && finest_task(plan.middle()) == nullptr;
  const Task* task = plan.task != nullptr ? plan.task : useless ? &tasks().front() : nullptr;
  if (task != nullptr) limits.push_back(task_limit(plan, *task));
  if (plan.detail) limits.push_back(detail_limit(plan));
  if (plan.bed || plan.focus_given) limits.push_back(focus_limit(plan));
  if (plan.exposure_given && plan.flicker_depth > 0) limits.push_back(flicker_limit(plan));
  if (plan.speed) limits.push_back(blur_limit(plan));
  return limits;
}

}  // namespace rookery::plan
