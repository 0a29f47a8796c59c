// What is so at a moment of a print, and what is told of it.
#include <cmath>

#include "sim/printer_scene.h"

namespace rookery::sim {
namespace {

constexpr float kPi = 3.14159265F;

Region cut_to(Region r, Size size) {
  const int left = std::clamp(r.x, 0, size.width);
  const int top = std::clamp(r.y, 0, size.height);
  return {left, top, std::clamp(r.x + r.width, left, size.width) - left,
          std::clamp(r.y + r.height, top, size.height) - top};
}

}  // namespace

Progress PrinterScene::progress_at(double worked) const {
  const double whole = print_seconds() + rest_;
  const double at = worked + static_cast<double>(begun_);
  Progress progress;
  if (at < 0) {
    // As after a print before this one, of which nothing is left.
    progress.print = -1;
    progress.resting = true;
    progress.rest = std::max(static_cast<float>(rest_ + at), kParkSeconds + 0.1F);
    progress.layer = layers_;
    return progress;
  }
  progress.print = static_cast<std::int64_t>(at / whole);
  const double in = at - static_cast<double>(progress.print) * whole;
  progress.resting = in >= print_seconds();
  progress.rest = static_cast<float>(in - print_seconds());
  progress.layer = std::min(layers_, static_cast<int>(in / static_cast<double>(layer_seconds_)));
  progress.into = static_cast<float>(in - progress.layer * static_cast<double>(layer_seconds_));
  return progress;
}

// Round the outline twice, then to and fro across it, then a short lift to the next layer.
Vec3 PrinterScene::nozzle_at(const Progress& now) const {
  const float z = static_cast<float>(now.layer) * kLayerHeight;
  if (now.resting) {
    const float away = smooth(0, kParkSeconds, now.rest);
    const Vec3 parked{-11 * away, (p_.delta ? -4.0F : 2.0F) * away, std::min(z + 5 * away, 24.0F)};
    const Vec3 next{object_.outline(0, 0) - 0.2F, 0, 0};
    return p_.home +
           mix(parked, next,
               smooth(static_cast<float>(rest_) - kReturnSeconds, static_cast<float>(rest_), now.rest));
  }
  const float u = now.into / layer_seconds_;
  const float turn = static_cast<float>(now.layer) * 0.7F;
  if (u < 0.55F) {
    const float a = turn + u / 0.55F * 4 * kPi;
    const float r = object_.outline(z, a) - (u < 0.27F ? 0.2F : 0.65F);
    return p_.home + Vec3{r * std::cos(a), r * std::sin(a), z};
  }
  if (u < 0.95F) {
    const float v = (u - 0.55F) / 0.4F;
    const float reach = object_.outline(z, 0) * 0.85F;
    const float across = (2 * v - 1) * reach;
    const float wide = std::sqrt(std::max(0.0F, reach * reach - across * across));
    const float saw = std::fabs(std::fmod(v * 9, 2.0F) - 1) * 2 - 1;
    const float a = (now.layer % 2 == 0 ? 0.785F : -0.785F);
    const Vec3 flat{across * std::cos(a) - wide * saw * std::sin(a),
                    across * std::sin(a) + wide * saw * std::cos(a), z};
    return p_.home + flat;
  }
  return p_.home + Vec3{object_.outline(z, turn) * std::cos(turn + 0.7F),
                        object_.outline(z, turn) * std::sin(turn + 0.7F),
                        z + 0.8F * std::sin((u - 0.95F) / 0.05F * kPi)};
}

PrinterScene::Now PrinterScene::now_at(SceneTime t) const {
  Now now;
  now.s = static_cast<double>(t.count()) * 1e-6;
  now.head = progress_at(course_.worked(now.s));
  now.part = progress_at(course_.added(now.s));
  // What happened to the part of an earlier print is over with it.
  if (now.part.print != now.head.print) {
    now.ours = false;
    now.part = now.head;
  }
  now.nozzle = nozzle_at(now.head);
  const bool parked = now.head.resting && now.head.rest > kParkSeconds &&
                      static_cast<double>(now.head.rest) < rest_ - static_cast<double>(kReturnSeconds);
  now.still = parked;
  if (const JobCourse::Pause* pause = course_.pause_at(now.s)) {
    const auto into = static_cast<float>(now.s - pause->from);
    const auto left = static_cast<float>(pause->to - now.s);
    now.still = !pause->aside || (into > kParkSeconds && left > kReturnSeconds);
    if (pause->aside)
      now.nozzle =
          mix(now.nozzle, aside(now), smooth(0, kParkSeconds, into) * smooth(0, kReturnSeconds, left));
  }
  if (now.ours) {
    now.place = part_place(now);
    const float z = static_cast<float>(now.head.layer) * kLayerHeight;
    if (!step_.straight() && !now.head.resting && z > step_.step_from) now.nozzle += step_.step;
    if (const JobEvent* mess = course_.since(Mishap::mess, now.s))
      now.mess = mess_amount(*mess, course_.worked(std::min(
                                        now.s, course_.when(print_seconds() - static_cast<double>(begun_)))) -
                                        course_.worked(mess->at_s));
  }
  // On a machine whose bed slides, the bed and the print move instead of the head.
  if (!bed_.empty()) {
    now.bed.y = -(now.nozzle.y - p_.home.y);
    now.nozzle.y = p_.home.y;
  }
  return now;
}

// Where the head waits during a pause.
Vec3 PrinterScene::aside(const Now& now) const {
  return p_.home + Vec3{-11, p_.delta ? -4.0F : 2.0F, std::min(now.nozzle.z - p_.home.z + 4, 24.0F)};
}

PartPlace PrinterScene::part_place(const Now& now) const {
  PartPlace place;
  if (const JobEvent* off = course_.since(Mishap::came_off, now.s)) {
    const Progress then = progress_at(course_.worked(off->at_s));
    const Vec3 bench{hash01(static_cast<std::uint32_t>(seed_), 31) * 16 - 8, -p_.home.y - 4, -p_.home.z};
    place = place_of(*off, seed_,
                     {.since_s = now.s - off->at_s,
                      .worked_s = course_.worked(now.s) - course_.worked(off->at_s),
                      .nozzle = now.nozzle - nozzle_at(then),
                      .bench = bench,
                      .height = printed_height(now.part),
                      .bed_slides = !bed_.empty()});
  }
  if (!step_.straight() && course_.since(Mishap::layer_shift, now.s)) {
    place.pose.step = step_.step;
    place.pose.step_from = step_.step_from;
  }
  return place;
}

std::optional<JobTruth> PrinterScene::job_at(SceneTime t) const {
  const Now now = now_at(t);
  if (elsewhere_ && now.s >= knocked_from_) {
    std::optional<JobTruth> truth = elsewhere_->job_at(t);
    truth->knocked = true;
    return truth;
  }
  const Vec3 at = view_.project(now.nozzle);
  const Vec3 standing = view_.project(p_.home + now.bed + now.place.shift);
  const JobCourse::Pause* pause = course_.pause_at(now.s);
  JobTruth truth{.number = std::max<std::int64_t>(0, now.head.print),
                 .under_way = !now.head.resting,
                 .grown = now.part.print < 0
                              ? 0
                              : static_cast<double>(static_cast<float>(now.part.layer) * kLayerHeight),
                 .head = Point{at.x, at.y},
                 .foot = Point{standing.x, standing.y}};
  truth.idle = now.head.print < 0;
  truth.finished = !truth.idle && now.head.resting && now.head.rest > kParkSeconds;
  truth.paused = pause != nullptr && pause->aside && truth.under_way;
  truth.stalled = pause != nullptr && !pause->aside && truth.under_way;
  if (is_seen(now))
    truth.part =
        cut_to(object_.region_at(view_, printed_height(now.part), now.bed + now.place.shift, now.place.pose),
               size());
  truth.hand = hand_at(now.s) > 0 || course_.at(Mishap::walk_by, now.s) != nullptr ||
               (taken(now) > 0 && taken(now) < kTakenSeconds);
  truth.dark = course_.at(Mishap::lamp_off, now.s) != nullptr;
  truth.covered = course_.at(Mishap::covered, now.s) != nullptr;
  truth.unsharp = course_.at(Mishap::unsharp, now.s) != nullptr;
  const auto since = [&](Mishap what) -> std::optional<double> {
    const JobEvent* event = now.ours ? course_.since(what, now.s) : nullptr;
    return event != nullptr ? std::optional(event->at_s) : std::nullopt;
  };
  truth.detached_since_s = since(Mishap::came_off);
  truth.shifted_since_s = since(Mishap::layer_shift);
  for (const Mishap what : {Mishap::came_off, Mishap::mess, Mishap::nothing_out}) {
    const auto from = since(what);
    if (from && (!truth.barren_since_s || *from < *truth.barren_since_s)) truth.barren_since_s = from;
  }
  truth.growing = truth.under_way && pause == nullptr && !truth.barren_since_s && now.part.layer < layers_;
  if (now.mess > 0 && taken(now) < kTakenSeconds) {
    const Mess::Seen seen = mess_.seen(view_, size(), p_.home + now.bed, now.mess);
    truth.mess_share = seen.share;
    truth.mess = seen.region;
  }
  return truth;
}

float PrinterScene::noise(SceneTime t) const {
  const bool dark = course_.at(Mishap::lamp_off, static_cast<double>(t.count()) * 1e-6) != nullptr;
  return dark ? 2.6F : Scene::noise(t);
}

// How far a hand is in the picture, 0 to 1.
float PrinterScene::hand_at(double s) const {
  if (const JobEvent* reach = course_.at(Mishap::reach_in, s))
    return reaching(s - reach->at_s, reach->length_s);
  const JobEvent* spool = course_.at(Mishap::spool_change, s);
  if (spool == nullptr) return 0;
  const double into = s - spool->at_s;
  const double left = spool->length_s - into;
  if (into < 6 || left < 6) return 0;
  return smooth(0.3F, 0.5F, noise1(static_cast<float>(into / 7), static_cast<std::uint32_t>(seed_) + 17)) *
         smooth(6, 9, static_cast<float>(into)) * smooth(6, 9, static_cast<float>(left));
}

// What it has to do: at the part, or between spool and head.
Vec3 PrinterScene::hand_place(double s) const {
  const auto t = static_cast<float>(s);
  const auto seed = static_cast<std::uint32_t>(seed_);
  const Vec3 restless{5 * (noise1(t / 1.3F, seed + 3) - 0.5F), 2 * (noise1(t / 1.7F, seed + 4) - 0.5F),
                      5 * (noise1(t / 1.1F, seed + 5) - 0.5F)};
  if (course_.at(Mishap::spool_change, s) == nullptr)
    return p_.home + Vec3{6, -7, 5 + 6 * noise1(t / 9, seed + 6)} + restless;
  const Vec3 head = p_.home + Vec3{-9, -3, 9};
  return mix(head, p_.spool + Vec3{0, -6, 0}, smooth(0.4F, 0.6F, noise1(t / 11, seed + 7))) + restless;
}

void PrinterScene::add_people(std::vector<Motion>& all) const {
  for (const JobEvent& event : course_.events()) {
    if (event.what != Mishap::reach_in && event.what != Mishap::walk_by && event.what != Mishap::spool_change)
      continue;
    all.push_back(Motion{scene_seconds(event.at_s),
                         scene_seconds(event.at_s + event.length_s),
                         TruthKind::wanted,
                         event.what == Mishap::walk_by ? "passer-by" : "hand",
                         {}});
  }
}

std::vector<Motion> PrinterScene::happenings(SceneTime until) const {
  // The filament sways with the air even while nothing is printed.
  std::vector<Motion> all{Motion{SceneTime{}, until, TruthKind::ambient, "filament", {}}};
  const auto add = [&](double from, double to, TruthKind kind, std::string_view what) {
    if (to > 0) all.push_back(Motion{scene_seconds(std::max(0.0, from)), scene_seconds(to), kind, what, {}});
  };
  add_people(all);
  const double whole = print_seconds() + rest_;
  for (std::int64_t i = 0;; ++i) {
    // After a stall for ever nothing follows.
    constexpr double kNever = 1e11;
    const double begin = std::min(kNever, course_.when(static_cast<double>(i) * whole - begun_));
    const double end =
        std::min(kNever, course_.when(static_cast<double>(i) * whole - begun_ + print_seconds()));
    if (scene_seconds(begin - kReturnSeconds) >= until) return all;
    add(begin - kReturnSeconds, end + kParkSeconds, TruthKind::job, "head");
    if (!bed_.empty()) add(begin - kReturnSeconds, end + kParkSeconds, TruthKind::job, "bed");
    if (p_.delta) add(begin - kReturnSeconds, end + kParkSeconds, TruthKind::job, "arms");
    add(begin, end + kParkSeconds, TruthKind::job, "part");
    const double taken = end + rest_ - kTakenBefore;
    add(taken, taken + kTakenSeconds, TruthKind::wanted, "taking off");
  }
}

}  // namespace rookery::sim
