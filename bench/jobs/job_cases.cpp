#include "bench/jobs/job_cases.h"

#include <cmath>

#include <fmt/format.h>

namespace rookery::bench {
namespace {

using sim::JobEvent;
using sim::Mishap;

constexpr float kLayer = 0.14F;  // cm, as in the scenes

constexpr std::string_view kKinds[] = {"vase", "gear",   "tower", "bracket", "plate",
                                       "rod",  "hollow", "ring",  "twist"};
constexpr std::string_view kMishapNames[] = {"came-off", "layer-shift", "mess",    "stall",    "nothing-out",
                                             "spool",    "reach-in",    "walk-by", "lamp-off", "daylight",
                                             "exposure", "knocked",     "covered", "unsharp"};

class Dice {
 public:
  explicit Dice(int number) : number_(static_cast<std::uint32_t>(number) + 20'261) {}
  double share() { return static_cast<double>(sim::hash01(number_, ++count_)); }
  double from(double low, double high) { return low + (high - low) * share(); }
  int below(int n) { return std::min(n - 1, static_cast<int>(share() * n)); }
  bool chance(double p) { return share() < p; }

 private:
  std::uint32_t number_;
  std::uint32_t count_ = 0;
};

struct Course {
  double begins_s = 0;  // scene time
  double work_s = 0;
  double pauses_s = 0;
  bool held_out = false;
  bool for_ever = false;  // it never ends
};

JobEvent coming_off(Dice& dice, const Course& course, double s) {
  const int manner = course.held_out ? 4 + dice.below(2) : dice.below(4);
  return {Mishap::came_off, s, 0, static_cast<float>(dice.from(0.6, 1.3)), static_cast<std::uint8_t>(manner)};
}

JobEvent mess(Dice& dice, const Course& course, double s) {
  const int look = course.held_out ? 2 + dice.below(2) : dice.below(2);
  return {Mishap::mess, s, dice.from(400, 1'400), static_cast<float>(dice.from(0.9, 1.4)),
          static_cast<std::uint8_t>(look)};
}

// What the job is about; most of them go well.
void add_story(Dice& dice, Course& course, std::vector<JobEvent>& events) {
  const double s = course.begins_s + dice.from(0.2, 0.8) * course.work_s;
  const double roll = dice.share();
  const auto strong = [&](double low, double high) { return static_cast<float>(dice.from(low, high)); };
  if (roll < 0.34) return;
  if (roll < 0.50) {
    events.push_back(coming_off(dice, course, s));
  } else if (roll < 0.62) {
    events.push_back(mess(dice, course, course.begins_s + dice.from(0.15, 0.5) * course.work_s));
  } else if (roll < 0.66) {
    events.push_back(coming_off(dice, course, s));
    events.push_back(mess(dice, course, s + dice.from(10, 120)));
  } else if (roll < 0.73) {
    events.push_back({Mishap::stall, s});
    course.for_ever = true;
  } else if (roll < 0.76) {
    events.push_back({Mishap::stall, s, dice.from(20, 300)});
    course.pauses_s += events.back().length_s;
  } else if (roll < 0.84) {
    events.push_back({Mishap::spool_change, s, dice.from(60, 240)});
    course.pauses_s += events.back().length_s;
  } else if (roll < 0.87) {
    events.push_back({Mishap::nothing_out, s});
  } else if (roll < 0.90) {
    events.push_back({Mishap::layer_shift, s, 0, strong(0.4, 1.8)});
  } else if (roll < 0.935) {
    const bool turned = dice.chance(0.5);
    events.push_back({Mishap::knocked, s, 0, turned ? strong(20, 60) : strong(1.5, 8),
                      static_cast<std::uint8_t>(dice.below(turned ? 2 : 4))});
  } else if (roll < 0.965) {
    events.push_back({Mishap::covered, s, dice.chance(0.5) ? 0 : dice.from(120, 900)});
  } else {
    events.push_back({Mishap::unsharp, s, 0, strong(4, 12)});
  }
}

// What happens in any workshop and means nothing.
void add_daily(Dice& dice, const Course& course, std::vector<JobEvent>& events) {
  const double ends = course.begins_s + course.work_s + course.pauses_s;
  const auto some = [&](double most_an_hour, double from) {
    const double count = most_an_hour * (ends - from) / 3600;
    return static_cast<int>(count * dice.share() + dice.share());
  };
  if (dice.chance(0.5)) events.push_back({Mishap::daylight, 0, 0, static_cast<float>(dice.from(0.1, 0.5))});
  if (dice.chance(0.3))
    events.push_back({Mishap::exposure, dice.from(0, ends), 0, static_cast<float>(dice.from(0.7, 1.35))});
  if (dice.chance(0.15))
    events.push_back({Mishap::lamp_off, dice.from(course.begins_s, ends), dice.from(60, 1'200)});
  for (int i = some(3, 0); i > 0; --i)
    events.push_back({Mishap::reach_in, dice.from(0, ends), dice.from(4, 40)});
  for (int i = some(4, 0); i > 0; --i)
    events.push_back(
        {Mishap::walk_by, dice.from(0, ends), dice.from(3, 9), 1, static_cast<std::uint8_t>(dice.below(2))});
  // Before the beginning somebody puts things in order.
  for (int i = course.begins_s > 0 ? dice.below(4) : 0; i > 0; --i)
    events.push_back({Mishap::reach_in, dice.from(0, course.begins_s * 0.9), dice.from(6, 50)});
}

double height_of(sim::PrintedKind kind) { return static_cast<double>(sim::PrintedObject(kind, {}).height()); }

}  // namespace

JobCase job_case(int number) {
  Dice dice(number);
  JobCase made;
  made.number = number;
  Course course;
  course.held_out = number >= kOpenCases;
  constexpr std::string_view kScenes[] = {"anvil", "bobbin", "cog"};
  made.scene = kScenes[number % 3];
  made.seed = 1'000 + static_cast<std::uint64_t>(number);
  const auto kind = static_cast<sim::PrintedKind>(course.held_out ? 6 + dice.below(3) : dice.below(6));
  // Half of the jobs are seen from before they begin.
  if (dice.chance(0.5)) course.begins_s = 5 * std::round(dice.from(240, 900) / 5);
  const auto layers = static_cast<int>(static_cast<float>(height_of(kind)) / kLayer);
  const auto layer_s = static_cast<float>(dice.from(1'700, 4'600) / layers);
  course.work_s = static_cast<double>(layer_s) * layers;
  std::vector<JobEvent> events;
  add_story(dice, course, events);
  const std::size_t told = events.size();
  add_daily(dice, course, events);
  made.work_s = course.work_s;
  made.ends_s = course.begins_s + course.work_s + course.pauses_s + dice.from(300, 900);
  if (course.for_ever) made.ends_s = events.front().at_s + 900;
  made.story = fmt::format("{} {}", made.scene, kKinds[static_cast<std::size_t>(kind)]);
  for (std::size_t i = 0; i < told; ++i)
    made.story += fmt::format(" {}/{}@{:.0f}", kMishapNames[static_cast<std::size_t>(events[i].what)],
                              static_cast<int>(events[i].manner), events[i].at_s - course.begins_s);
  made.job = {.kind = kind,
              .layer_seconds = layer_s,
              .from_start = true,
              .rest_s = 1e6,
              .events = std::move(events),
              .idle_s = course.begins_s};
  return made;
}

}  // namespace rookery::bench
