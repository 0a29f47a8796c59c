#include "bench/jobs/job_case.h"

#include <array>
#include <random>
#include <stdexcept>

#include <fmt/format.h>

#include "sim/printed_object.h"
#include "sim/printer_scene.h"
#include "sim/scene.h"

namespace rookery::bench {
namespace {

using sim::JobEvent;
using sim::Mishap;

constexpr sim::Size kDrawn{320, 240};  // a quarter of the pixels of 640×480: cells of 4×4 instead of 8×8
constexpr double kAfter_s = 400;       // pictures after the end, or after what went wrong
constexpr std::string_view kNames[] = {"none", "pause", "spool",   "stall",   "detached", "mess",
                                       "dry",  "shift", "covered", "knocked", "unsharp"};
constexpr std::string_view kKinds[] = {"vase", "gear",   "tower", "bracket", "plate",
                                       "rod",  "hollow", "ring",  "twist"};
using enum Trouble;
constexpr std::array kTurns = {none,     pause,    detached, mess,     stall, none,   spool,
                               detached, covered,  dry,      detached, none,  mess,   shift,
                               spool,    detached, stall,    none,     mess,  knocked};

class Dice {
 public:
  explicit Dice(std::uint64_t seed) : random_(static_cast<unsigned>(seed) * 7919U + 17U) {}
  double share() { return std::uniform_real_distribution<double>(0, 1)(random_); }
  double between(double least, double most) { return least + (most - least) * share(); }
  std::uint32_t one_of(std::uint32_t count) { return static_cast<std::uint32_t>(random_() % count); }

 private:
  std::mt19937 random_;
};

// The trouble as the workshop has it. Half of those that are kept for scoring have faults of their own too.
void add_trouble(JobCase& job, Dice& dice) {
  const bool own = job.held && dice.one_of(2) == 0;
  const auto manner = [&](std::uint32_t count, std::uint32_t kept) {
    return static_cast<std::uint8_t>(own ? count + dice.one_of(kept) : dice.one_of(count));
  };
  const auto strength = [&](double least, double most) {
    return static_cast<float>(dice.between(least, most));
  };
  const double at_s = job.trouble_at_s;
  switch (job.trouble) {
    case none:
      break;
    case pause:
      job.events.push_back({Mishap::stall, at_s, dice.between(60, 240)});
      break;
    case spool:
      job.events.push_back({Mishap::spool_change, at_s, dice.between(60, 240)});
      break;
    case stall:
      job.events.push_back({Mishap::stall, at_s});
      break;
    case detached:
      job.events.push_back({Mishap::came_off, at_s, 0, strength(0.6, 1.5), manner(4, 2)});
      break;
    case mess:
      job.events.push_back({Mishap::mess, at_s, 1'200, strength(0.7, 1.3), manner(2, 2)});
      break;
    case dry:
      job.events.push_back({Mishap::nothing_out, at_s});
      break;
    case shift:
      job.events.push_back({Mishap::layer_shift, at_s, 0, strength(0.3, 2)});
      break;
    case covered:
      job.events.push_back({Mishap::covered, at_s});
      break;
    case knocked:
      job.events.push_back(
          {Mishap::knocked, at_s, 0, strength(2, 30), static_cast<std::uint8_t>(dice.one_of(4))});
      break;
    case unsharp:
      job.events.push_back({Mishap::unsharp, at_s, 0, strength(6, 14)});
      break;
  }
}

// People and light come and go in any job.
void add_surroundings(JobCase& job, Dice& dice) {
  const auto some_time = [&] { return job.ends_s * dice.between(0.1, 0.95); };
  if (dice.share() < 0.3) job.events.push_back({Mishap::reach_in, some_time(), dice.between(8, 25)});
  if (dice.share() < 0.3) job.events.push_back({Mishap::walk_by, some_time(), dice.between(4, 10)});
  const std::uint32_t light = dice.one_of(9);
  if (light == 0) job.events.push_back({Mishap::lamp_off, some_time(), dice.between(120, 1'200)});
  if (light == 1) job.events.push_back({Mishap::daylight, 0, 0, static_cast<float>(dice.between(0.1, 0.5))});
  if (light == 2)
    job.events.push_back({Mishap::exposure, some_time(), 0, static_cast<float>(dice.between(0.7, 1.4))});
}

double lasts_s(const JobCase& job) {
  switch (job.trouble) {
    case stall:
      return job.trouble_at_s + 900;
    case mess:
      return job.trouble_at_s + 1'300;
    case detached:
    case dry:
      return job.trouble_at_s + 1'500;
    case covered:
    case knocked:
    case unsharp:
      return job.trouble_at_s + kAfter_s;
    default:
      return job.ends_s + kAfter_s;
  }
}

}  // namespace

std::string_view name_of(Trouble trouble) { return kNames[static_cast<std::size_t>(trouble)]; }

std::string JobCase::text() const {
  const int manner = trouble == none ? 0 : events.front().manner;
  return fmt::format("seed {}{} {} {} {} layer {:.0f} s, {}/{} at {:.0f} s, end {:.0f} s", seed,
                     held ? "h" : "", scene, kKinds[static_cast<std::size_t>(kind)], name_of(light), layer_s,
                     name_of(trouble), manner, trouble_at_s, ends_s);
}

JobCase make_case(std::uint64_t seed, bool held) {
  Dice dice(seed + (held ? 1'000'003 : 0));
  JobCase job;
  job.seed = seed;
  job.held = held;
  job.scene = std::array{"anvil", "bobbin", "cog"}[dice.one_of(3)];
  job.kind = static_cast<sim::PrintedKind>(held ? 6 + dice.one_of(3) : dice.one_of(6));
  job.light = static_cast<Light>(dice.one_of(4));
  const double layers = std::floor(sim::PrintedObject(job.kind, {}).height() / sim::kLayerHeight);
  job.layer_s = static_cast<float>(dice.between(1'500, 3'900) / layers);
  job.ends_s = layers * static_cast<double>(job.layer_s);
  job.trouble = kTurns[seed % kTurns.size()];
  // Out of focus takes turns with what covers the lens.
  if (job.trouble == covered && seed / kTurns.size() % 3 == 2) job.trouble = unsharp;
  if (job.trouble != none) job.trouble_at_s = job.ends_s * dice.between(0.35, 0.85);
  add_trouble(job, dice);
  for (const JobEvent& event : job.events) {
    if ((event.what == Mishap::stall || event.what == Mishap::spool_change) && event.length_s > 0)
      job.ends_s += event.length_s;
  }
  add_surroundings(job, dice);
  job.lasts_s = lasts_s(job);
  return job;
}

void film_case(const JobCase& job, double every_s, const std::function<void(const JobStill&)>& take) {
  const sim::PrintJob print{.kind = job.kind,
                            .layer_seconds = job.layer_s,
                            .from_start = true,
                            .rest_s = 20'000,
                            .events = job.events};
  auto scene = sim::make_printer_scene(job.scene, job.seed, kDrawn, print);
  if (!scene) throw std::runtime_error(scene.error().text());
  GridCamera camera(**scene, job.light, job.seed);
  for (double at_s = 0; at_s < job.lasts_s; at_s += every_s) {
    const auto t = sim::SceneTime(static_cast<std::int64_t>(at_s * 1e6));
    JobStill still{at_s, {kGridWidth, kGridHeight, camera.take(t), false}, {}};
    still.truth = *(*scene)->job_at(t);
    take(still);
  }
}

}  // namespace rookery::bench
