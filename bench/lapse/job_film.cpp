#include "bench/lapse/job_film.h"

#include <ctime>
#include <stdexcept>

#include "vision/lapse_measures.h"

namespace rookery::bench {
namespace {

std::vector<std::uint8_t> halved(const std::vector<std::uint8_t>& grid) {
  std::vector<std::uint8_t> out;
  out.reserve(grid.size() / 4);
  for (int y = 0; y < kGridHeight; y += 2) {
    for (int x = 0; x < kGridWidth; x += 2) {
      const std::uint8_t* at = &grid[static_cast<std::size_t>(y * kGridWidth + x)];
      out.push_back(static_cast<std::uint8_t>((at[0] + at[1] + at[kGridWidth] + at[kGridWidth + 1] + 2) / 4));
    }
  }
  return out;
}

sim::Region part_of(const sim::Scene& scene, sim::SceneTime t) {
  for (const sim::MovingBox& box : scene.moving_at(t)) {
    if (box.what != "part") continue;
    const sim::Region r = box.region;  // of 160×120; a cell is 2×2 of its pixels
    return {r.x / 2, r.y / 2, (r.x + r.width + 1) / 2 - r.x / 2, (r.y + r.height + 1) / 2 - r.y / 2};
  }
  return {};
}

double cpu_seconds() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}

void leave_out(std::vector<std::uint8_t>& still, const sim::Region& r) {
  for (int y = std::max(0, r.y); y < std::min(kGridHeight, r.y + r.height); ++y) {
    for (int x = std::max(0, r.x); x < std::min(kGridWidth, r.x + r.width); ++x)
      still[static_cast<std::size_t>(y * kGridWidth + x)] = 0;
  }
}

}  // namespace

std::vector<JobStill> film_job(const JobOptions& options) {
  constexpr sim::Size kSize{160, 120};
  const bool prints = options.scene == "anvil" || options.scene == "bobbin" || options.scene == "cog";
  auto made = prints ? sim::make_printer_scene(options.scene, options.seed, kSize,
                                               {options.kind, options.layer_s, true})
                     : sim::make_scene(options.scene, options.seed, kSize);
  if (!made) throw std::runtime_error(made.error().text());
  sim::Scene& scene = **made;
  GridMaker maker(scene, options.scene, options.seed, options.troubles);
  std::vector<JobStill> stills;
  jpeg::LumaGrid grid;
  const auto end = static_cast<std::size_t>(options.most_hours * 3600 * options.stills_per_s);
  for (std::size_t i = 0; i < end; ++i) {
    JobStill still;
    still.at_s = static_cast<double>(i) / options.stills_per_s;
    const auto t = sim::SceneTime(static_cast<std::int64_t>(still.at_s * 1e6));
    const auto truth = scene.job_at(t);
    if (!truth || !truth->under_way) break;
    if (!stills.empty() && truth->number != stills.front().truth.number) break;
    still.truth = *truth;
    if (prints) still.part = part_of(scene, t);
    maker.make(t, grid);
    still.grid = grid.cells;
    still.thumbnail = halved(grid.cells);
    stills.push_back(std::move(still));
  }
  return stills;
}

LapseScore score_lapse(const std::vector<JobStill>& job, const vision::LapseOptions& options) {
  const double began = cpu_seconds();
  auto chooser = vision::LapseChooser::make(options);
  if (!chooser) throw std::runtime_error(chooser.error().text());
  for (const JobStill& still : job) {
    const auto added = chooser->add({.at_s = still.at_s, .cells = still.thumbnail});
    if (!added) throw std::runtime_error(added.error().text());
  }
  const auto choice = chooser->finish();
  if (!choice) throw std::runtime_error(choice.error().text());
  LapseScore score;
  score.seconds = cpu_seconds() - began;
  score.frames = choice.value().frames.size();
  std::vector<double> times, sizes, head_x, head_y, part_x, part_y;
  const JobStill* before = nullptr;
  constexpr double kTo640 = 4;
  for (const vision::LapseFrame& frame : choice.value().frames) {
    const JobStill& now = job[frame.picture];
    times.push_back(now.at_s);
    sizes.push_back(now.truth.grown);
    if (now.truth.head) {
      head_x.push_back(kTo640 * static_cast<double>(now.truth.head->x));
      head_y.push_back(kTo640 * static_cast<double>(now.truth.head->y));
    }
    if (now.truth.foot) {
      part_x.push_back(kTo640 * static_cast<double>(now.truth.foot->x));
      part_y.push_back(kTo640 * static_cast<double>(now.truth.foot->y));
    }
    if (before != nullptr) {
      std::vector<std::uint8_t> still(now.grid.size(), 1);
      leave_out(still, before->part);
      leave_out(still, now.part);
      score.unlike += vision::unlikeness(before->grid, now.grid, still);
    }
    before = &now;
  }
  if (score.frames > 1) score.unlike /= static_cast<double>(score.frames - 1);
  const vision::StepSizes head = vision::step_sizes(head_x, head_y);
  const vision::StepSizes part = vision::step_sizes(part_x, part_y);
  score.head_mean = head.mean;
  score.head_p95 = head.p95;
  score.part_mean = part.mean;
  score.part_p95 = part.p95;
  score.spacing_s = vision::rms_spacing(times, options.slots.every_s);
  score.shrinking = vision::shrinking_share(sizes);
  return score;
}

}  // namespace rookery::bench
