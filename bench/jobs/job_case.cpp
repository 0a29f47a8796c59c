#include "bench/jobs/job_case.h"

#include <algorithm>
#include <cmath>
#include <random>
#include <stdexcept>

#include <fmt/format.h>

namespace rookery::bench {
namespace {

constexpr sim::Size kDrawn{320, 240};  // a quarter of the pixels of 640×480: cells of 4×4 instead of 8×8
constexpr double kAfter_s = 400;       // pictures after the end, or after what went wrong
constexpr double kLayers[] = {121, 60, 142};  // of vase, gear and tower

sim::PrintJob print_of(const JobCase& job) {
  sim::PrintJob print;
  print.kind = job.kind;
  print.layer_seconds = job.layer_s;
  print.from_start = true;
  print.rest_s = 20'000;
  const auto manner = static_cast<std::uint8_t>(job.seed % 2);
  if (job.trouble == Trouble::detached)
    print.events = {{sim::Mishap::came_off, job.trouble_at_s, 0, 1, manner}};
  if (job.trouble == Trouble::mess) print.events = {{sim::Mishap::mess, job.trouble_at_s, 1'200, 1, manner}};
  if (job.trouble == Trouble::dry) print.events = {{sim::Mishap::nothing_out, job.trouble_at_s}};
  return print;
}

std::unique_ptr<sim::Scene> scene_of(const JobCase& job, const sim::PrintJob& print) {
  auto made = sim::make_printer_scene(job.scene, job.seed, kDrawn, print);
  if (!made) throw std::runtime_error(made.error().text());
  return std::move(made.value());
}

sim::SceneTime time_of(double s) { return sim::SceneTime(static_cast<std::int64_t>(s * 1e6)); }

// The scene's time: it stands still in a pause and from a stall on.
double scene_s(const JobCase& job, double at_s) {
  if (job.trouble == Trouble::stall) return std::min(at_s, job.trouble_at_s);
  if (job.trouble != Trouble::pause || at_s < job.trouble_at_s) return at_s;
  return std::max(job.trouble_at_s, at_s - job.pause_s);
}

// What lies on the lens lets through a little of the light, and none of the picture.
void cover(std::vector<std::uint8_t>& grid, bool dark, std::mt19937& random) {
  for (std::uint8_t& cell : grid) cell = static_cast<std::uint8_t>((dark ? 4 : 44) + random() % 3);
}

void turn(std::vector<std::uint8_t>& grid, int right, int down) {
  const std::vector<std::uint8_t> was = grid;
  for (int y = 0; y < kGridHeight; ++y) {
    for (int x = 0; x < kGridWidth; ++x) {
      const int from_x = std::clamp(x + right, 0, kGridWidth - 1);
      const int from_y = std::clamp(y + down, 0, kGridHeight - 1);
      grid[static_cast<std::size_t>(y * kGridWidth + x)] =
          was[static_cast<std::size_t>(from_y * kGridWidth + from_x)];
    }
  }
}

}  // namespace

std::string_view name_of(Trouble trouble) {
  constexpr std::string_view kNames[] = {"none", "pause", "stall",   "detached",
                                         "mess", "dry",   "covered", "knocked"};
  return kNames[static_cast<std::size_t>(trouble)];
}

std::string JobCase::text() const {
  constexpr std::string_view kKinds[] = {"vase", "gear", "tower"};
  return fmt::format("seed {} {} {} {} layer {:.0f} s, {} at {:.0f} s, end {:.0f} s", seed, scene,
                     kKinds[static_cast<std::size_t>(kind)], name_of(light), layer_s, name_of(trouble),
                     trouble_at_s, ends_s);
}

JobCase make_case(std::uint64_t seed) {
  std::mt19937 random(static_cast<unsigned>(seed) * 7919U + 17U);
  const auto share = [&] { return std::uniform_real_distribution<double>(0, 1)(random); };
  JobCase job;
  job.seed = seed;
  job.scene = std::array{"anvil", "bobbin", "cog"}[random() % 3];
  const auto kind = random() % 3;
  job.kind = static_cast<sim::PrintedKind>(kind);
  job.light = static_cast<Light>(random() % 4);
  const double whole_s = 1'500 + 2'400 * share();
  job.layer_s = static_cast<float>(whole_s / kLayers[kind]);
  job.ends_s = kLayers[kind] * static_cast<double>(job.layer_s);
  // 0 and 1 twice, as often as all others together.
  const std::uint64_t turn = seed % 12;
  job.trouble = static_cast<Trouble>(turn < 6 ? (turn % 3 == 2 ? 1 : 0) : turn - 4);
  if (job.trouble != Trouble::none) job.trouble_at_s = job.ends_s * (0.35 + 0.5 * share());
  if (job.trouble == Trouble::pause) {
    job.pause_s = 60 + 180 * share();
    job.ends_s += job.pause_s;
  }
  const bool goes_on = job.trouble == Trouble::none || job.trouble == Trouble::pause;
  job.lasts_s = goes_on ? job.ends_s + kAfter_s
                        : job.trouble_at_s + (job.trouble == Trouble::stall  ? 900
                                              : job.trouble == Trouble::dry  ? 2'400
                                              : job.trouble == Trouble::mess ? 1'500
                                                                             : kAfter_s);
  return job;
}

void film_case(const JobCase& job, double every_s,
               const std::function<void(const jpeg::LumaGrid&, double at_s)>& take) {
  const auto scene = scene_of(job, print_of(job));
  GridCamera camera(*scene, job.light, job.seed);
  std::mt19937 random(static_cast<unsigned>(job.seed));
  const bool dark = job.seed % 2 == 0;
  for (double at_s = 0; at_s < job.lasts_s; at_s += every_s) {
    jpeg::LumaGrid grid{kGridWidth, kGridHeight, {}, false};
    grid.cells = camera.take(time_of(scene_s(job, at_s)), time_of(at_s));
    if (job.trouble == Trouble::covered && at_s >= job.trouble_at_s) cover(grid.cells, dark, random);
    if (job.trouble == Trouble::knocked && at_s >= job.trouble_at_s)
      turn(grid.cells, dark ? 9 : 3, dark ? -5 : 2);
    take(grid, at_s);
  }
}

}  // namespace rookery::bench
