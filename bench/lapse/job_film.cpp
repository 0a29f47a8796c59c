#include "bench/lapse/job_film.h"

#include <cmath>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <functional>
#include <stdexcept>

#include <fmt/format.h>

#include "sim/picture_faults.h"
#include "vision/lapse_levels.h"
#include "vision/lapse_measures.h"
#include "vision/lapse_quiet.h"
#include "vision/spectrum.h"

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
  const int cell = scene.size().width / kGridWidth;
  for (const sim::MovingBox& box : scene.moving_at(t)) {
    if (box.what != "part") continue;
    const sim::Region r = box.region;
    const int left = r.x / cell;
    const int top = r.y / cell;
    return {left, top, (r.x + r.width + cell - 1) / cell - left, (r.y + r.height + cell - 1) / cell - top};
  }
  return {};
}

double mean_of(const std::uint8_t* values, std::size_t count) {
  double sum = 0;
  for (std::size_t i = 0; i < count; ++i) sum += values[i];
  return sum / static_cast<double>(count);
}

LevelScore level_score(const std::vector<sim::Picture>& film) {
  LevelScore out;
  if (film.size() < 3) return out;
  std::vector<double> luma, blue, red;
  for (const sim::Picture& p : film) {
    luma.push_back(mean_of(p.y.data(), p.y.size()));
    blue.push_back(mean_of(p.u.data(), p.u.size()));
    red.push_back(mean_of(p.v.data(), p.v.size()));
  }
  out.flicker = vision::flicker(luma);
  out.colour = std::hypot(vision::flicker(blue), vision::flicker(red));
  const auto width = static_cast<std::size_t>(film.front().size.width);
  const int height = film.front().size.height;
  for (int y = 0; y < height; ++y) {
    std::vector<double> row;
    for (std::size_t i = 0; i < film.size(); ++i)
      row.push_back(mean_of(&film[i].y[static_cast<std::size_t>(y) * width], width) - luma[i]);
    out.banding += vision::flicker(row) / height;
  }
  vision::detrend(luma);
  for (const double value : luma) out.spread += value * value / static_cast<double>(luma.size());
  out.spread = std::sqrt(out.spread);
  return out;
}

// Keeps grids in a file from run to run: drawing takes most of the time.
class Store {
 public:
  explicit Store(const std::string& path) : path_(path) {
    if (path.empty()) return;
    std::filesystem::create_directories(std::filesystem::path(path).parent_path());
    in_.open(path, std::ios::binary);
    if (!in_) out_.open(path + ".part", std::ios::binary);
  }
  std::vector<std::uint8_t> take(const std::function<std::vector<std::uint8_t>()>& draw) {
    if (!in_.is_open()) {
      auto grid = draw();
      if (out_.is_open())
        out_.write(reinterpret_cast<const char*>(grid.data()), static_cast<std::streamsize>(grid.size()));
      return grid;
    }
    std::vector<std::uint8_t> grid(std::size_t{kGridWidth} * kGridHeight);
    if (!in_.read(reinterpret_cast<char*>(grid.data()), static_cast<std::streamsize>(grid.size())))
      throw std::runtime_error(path_ + " is too short: delete it");
    return grid;
  }
  // Kept only when all of it was drawn.
  void finish() {
    if (!out_.is_open()) return;
    out_.close();
    std::filesystem::rename(path_ + ".part", path_);
  }

 private:
  std::string path_;
  std::ifstream in_;
  std::ofstream out_;
};

double cpu_seconds() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}

sim::SceneTime time_of(const JobStill& still) {
  return sim::SceneTime(static_cast<std::int64_t>(still.at_s * 1e6));
}

void leave_out(std::vector<std::uint8_t>& still, const sim::Region& r) {
  for (int y = std::max(0, r.y); y < std::min(kGridHeight, r.y + r.height); ++y) {
    for (int x = std::max(0, r.x); x < std::min(kGridWidth, r.x + r.width); ++x)
      still[static_cast<std::size_t>(y * kGridWidth + x)] = 0;
  }
}

std::vector<std::uint8_t> still_cells(const JobStill& before, const JobStill& now) {
  std::vector<std::uint8_t> still(now.grid.size(), 1);
  leave_out(still, before.part);
  leave_out(still, now.part);
  return still;
}

}  // namespace

// At full size, as the sensor gives it.
sim::Picture FilmedJob::photograph(sim::SceneTime t) const {
  sim::Picture picture(scene_->size());
  sim::Canvas canvas(picture);
  scene_->draw(canvas, t);
  apply_light(picture, options_.light, std::chrono::duration<double>(t).count());
  sim::add_noise(picture, scene_->noise(t), static_cast<std::uint32_t>(t.count() / 1000));
  return picture;
}

FilmedJob::FilmedJob(const JobOptions& options) : options_(options) {
  const bool prints = options.scene == "anvil" || options.scene == "bobbin" || options.scene == "cog";
  auto made = prints ? sim::make_printer_scene(options.scene, options.seed, options.size,
                                               {options.kind, options.layer_s, true})
                     : sim::make_scene(options.scene, options.seed, options.size);
  if (!made) throw std::runtime_error(made.error().text());
  scene_ = std::move(made.value());
  camera_ = std::make_unique<GridCamera>(*scene_, options.light, options.seed);
  Store store(options.folder.empty()
                  ? ""
                  : fmt::format("{}/{}-{}-{}s-{}hz-{}h-{}-{}{}.grids", options.folder, options.scene,
                                options.kind ? static_cast<int>(*options.kind) : -1, options.layer_s,
                                options.stills_per_s, options.most_hours, options.seed, options.size.width,
                                options.light == Light::steady ? "" : name_of(options.light)));
  const auto end = static_cast<std::size_t>(options.most_hours * 3600 * options.stills_per_s);
  for (std::size_t i = 0; i < end; ++i) {
    JobStill still;
    still.at_s = static_cast<double>(i) / options.stills_per_s;
    const auto t = sim::SceneTime(static_cast<std::int64_t>(still.at_s * 1e6));
    const auto truth = scene_->job_at(t);
    if (!truth || !truth->under_way) break;
    if (!stills_.empty() && truth->number != stills_.front().truth.number) break;
    still.truth = *truth;
    if (prints) still.part = part_of(*scene_, t);
    still.grid = store.take([&] { return camera_->take(t); });
    still.thumbnail = halved(still.grid);
    stills_.push_back(std::move(still));
  }
  store.finish();
}

FilmedJob::~FilmedJob() = default;

double FilmedJob::unlike(const JobStill& before, const JobStill& now) const {
  return vision::unlikeness(before.grid, now.grid, still_cells(before, now));
}

// The rule of archive/lapse_beside.h.
std::vector<std::uint8_t> FilmedJob::quieted(const std::vector<std::size_t>& picks, std::size_t pick) const {
  if (picks.size() < 2) return stills_[picks[pick]].grid;
  const auto apart = [&](std::size_t a, std::size_t b) {
    return (stills_[picks[b]].at_s - stills_[picks[a]].at_s) / 4;
  };
  const bool last = pick + 1 == picks.size();
  return quieted(picks[pick], pick > 0 ? apart(pick - 1, pick) : apart(pick, pick + 1),
                 last ? apart(pick - 1, pick) : apart(pick, pick + 1));
}

// By those that are nearer than that.
std::vector<std::uint8_t> FilmedJob::quieted(std::size_t number, double before_s, double behind_s) const {
  constexpr std::size_t kOnASide = 13;
  std::vector<std::uint8_t> grid = stills_[number].grid;
  const double now_s = stills_[number].at_s;
  vision::QuietCells quiet(grid);
  for (std::size_t k = 1; k <= kOnASide; ++k) {
    if (number >= k && now_s - stills_[number - k].at_s < before_s) quiet.add(stills_[number - k].grid);
    if (number + k < stills_.size() && stills_[number + k].at_s - now_s < behind_s)
      quiet.add(stills_[number + k].grid);
  }
  const auto corrections = quiet.compute_corrections();
  for (std::size_t i = 0; i < grid.size(); ++i) grid[i] = static_cast<std::uint8_t>(grid[i] + corrections[i]);
  return grid;
}

double FilmedJob::clean_unlike(const JobStill& before, const JobStill& now) {
  const auto still = still_cells(before, now);
  const auto a = camera_->clean(time_of(before));
  const auto b = camera_->clean(time_of(now));
  double sum = 0;
  double count = 0;
  for (std::size_t i = 0; i < still.size(); ++i) {
    if (still[i] == 0) continue;
    sum += static_cast<double>(std::abs(a[i] - b[i]));
    ++count;
  }
  return count == 0 ? 0 : sum / count;
}

vision::LapseChoice FilmedJob::choose(const vision::LapseOptions& options) const {
  auto chooser = vision::LapseChooser::make(options);
  if (!chooser) throw std::runtime_error(chooser.error().text());
  for (const JobStill& still : stills_) {
    const auto added = chooser->add({.at_s = still.at_s, .cells = still.thumbnail});
    if (!added) throw std::runtime_error(added.error().text());
  }
  auto choice = chooser->finish();
  if (!choice) throw std::runtime_error(choice.error().text());
  return std::move(choice.value());
}

LapseScore FilmedJob::score(const vision::LapseOptions& options) {
  const double began = cpu_seconds();
  const vision::LapseChoice choice = choose(options);
  LapseScore score;
  score.seconds = cpu_seconds() - began;
  score.frames = choice.frames.size();
  std::vector<double> times, sizes, head_x, head_y, part_x, part_y;
  const JobStill* before = nullptr;
  std::vector<std::size_t> picks;
  for (const vision::LapseFrame& frame : choice.frames) picks.push_back(frame.picture);
  std::vector<std::uint8_t> quiet_before;
  const double to_640 = 640.0 / options_.size.width;
  for (const vision::LapseFrame& frame : choice.frames) {
    const JobStill& now = stills_[frame.picture];
    times.push_back(now.at_s);
    sizes.push_back(now.truth.grown);
    if (now.truth.head) {
      head_x.push_back(to_640 * static_cast<double>(now.truth.head->x));
      head_y.push_back(to_640 * static_cast<double>(now.truth.head->y));
    }
    if (now.truth.foot) {
      part_x.push_back(to_640 * static_cast<double>(now.truth.foot->x));
      part_y.push_back(to_640 * static_cast<double>(now.truth.foot->y));
    }
    auto quiet = quieted(picks, times.size() - 1);
    if (before != nullptr) {
      score.unlike += unlike(*before, now);
      score.quiet += vision::unlikeness(quiet_before, quiet, still_cells(*before, now));
      score.clean += clean_unlike(*before, now);
    }
    before = &now;
    quiet_before = std::move(quiet);
  }
  const double steps = std::max(1.0, static_cast<double>(score.frames) - 1);
  score.unlike /= steps;
  score.clean /= steps;
  score.quiet /= steps;
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

LevelScores FilmedJob::level(const vision::LapseChoice& choice) {
  LevelScores out;
  out.frames = choice.frames.size();
  std::vector<sim::Picture> film;
  for (const vision::LapseFrame& frame : choice.frames)
    film.push_back(photograph(time_of(stills_[frame.picture])));
  const auto view = [](sim::Picture& p) {
    return vision::PictureView{.luma = {p.y.data(), p.size.width, p.size.height, p.size.width},
                               .blue = {p.u.data(), p.half(), p.size.height, p.half()},
                               .red = {p.v.data(), p.half(), p.size.height, p.half()}};
  };
  out.before = level_score(film);
  const double start = cpu_seconds();
  std::vector<vision::LevelSample> samples;
  for (sim::Picture& picture : film) samples.push_back(vision::sample_levels(view(picture)).value());
  const double sampled = cpu_seconds();
  const auto plan = vision::plan_levels(samples);
  if (!plan) throw std::runtime_error(plan.error().text());
  const double planned = cpu_seconds();
  for (std::size_t i = 0; i < film.size(); ++i) vision::apply_levels(plan.value()[i], view(film[i]));
  const double applied = cpu_seconds();
  const double to_ms = 1e3 / static_cast<double>(std::max<std::size_t>(1, film.size()));
  out.sample_ms = to_ms * (sampled - start);
  out.plan_ms = to_ms * (planned - sampled);
  out.apply_ms = to_ms * (applied - planned);
  for (const vision::LevelCorrection& correction : plan.value()) {
    out.limited += correction.limited ? 1 : 0;
    out.lamps += correction.lamp_switched ? 1 : 0;
  }
  out.after = level_score(film);
  return out;
}

double FilmedJob::least_unlike(const vision::LapseOptions& options) const {
  return least(options, [this](std::size_t a, std::size_t b) { return unlike(stills_[a], stills_[b]); });
}

double FilmedJob::least_quiet(const vision::LapseOptions& options) const {
  std::vector<std::vector<std::uint8_t>> grids;
  const double reach_s = options.slots.every_s / 4;
  for (std::size_t i = 0; i < stills_.size(); ++i) grids.push_back(quieted(i, reach_s, reach_s));
  return least(options, [&](std::size_t a, std::size_t b) {
    return vision::unlikeness(grids[a], grids[b], still_cells(stills_[a], stills_[b]));
  });
}

double FilmedJob::least(const vision::LapseOptions& options,
                        const std::function<double(std::size_t, std::size_t)>& unlike_of) const {
  std::vector<std::pair<std::size_t, double>> before;
  int steps = -1;
  for (int slot = 0; slot < options.slots.count; ++slot) {
    std::vector<std::pair<std::size_t, double>> now;
    const double centre = options.slots.first_s + slot * options.slots.every_s;
    for (std::size_t number = 0; number < stills_.size(); ++number) {
      if (std::abs(stills_[number].at_s - centre) > options.window * options.slots.every_s) continue;
      double least = before.empty() ? 0 : 1e300;
      for (const auto& [there, cost] : before) least = std::min(least, cost + unlike_of(there, number));
      now.emplace_back(number, least);
    }
    if (now.empty()) continue;
    before = std::move(now);
    ++steps;
  }
  if (steps < 1) return 0;
  double least = 1e300;
  for (const auto& [there, cost] : before) least = std::min(least, cost);
  return least / steps;
}

}  // namespace rookery::bench
