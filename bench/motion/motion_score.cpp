// Scores the motion detector against the workshop's truth: scenes drawn at a quarter of their size, made into
// luma grids as a board's JPEG would give them, with lamps, exposure, banding and knocks on top; as fast as
// it goes.
//
//   motion_score [--scene NAME] [--hours H] [--rate GRIDS_PER_S] [--seed N] [--sensitivity 1..5] [--calm]
//   [--list] [--grids FOLDER]
//
// Prints a row a scene: recall, false events a day, delay of the first event that finds something, and recall
// and delay once more where only events of cause `motion` are let find anything. docs/motion.md has the
// results.
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <memory>
#include <optional>
#include <random>
#include <string>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "bench/motion/truth.h"
#include "sim/scene.h"
#include "vision/motion_events.h"

namespace rookery::bench {
namespace {

struct Options {
  std::string scene;
  double hours = 1;
  double rate = 5;
  std::uint64_t seed = 1;
  int sensitivity = vision::Sensitivity::kMiddle;
  Troubles troubles = Troubles::usual;
  bool list = false;
  std::string grids;
  double trace_from_s = 0;
  double trace_to_s = 0;
};

constexpr double kLate_s = 0.5;  // the aim

struct Score {
  int truths = 0;
  int found = 0;
  int events = 0;
  int false_events = 0;
  int found_by_motion = 0;  // by an event of that cause
  std::vector<double> delays_s;
  std::vector<double> motion_delays_s;  // of those
};

// When the first of the events that find a truth starts.
struct Finds {
  std::optional<base::Microseconds> any;
  std::optional<base::Microseconds> motion;
};

// Draws grids; with a folder, keeps what it drew there and takes it from there the next time: the detector
// alone takes a fifth of the time. A scene's 12 hours are 1 GB.
class GridStore {
 public:
  GridStore(const Options& options, const std::string& name, GridMaker& maker) : maker_(maker) {
    if (options.grids.empty()) return;
    std::filesystem::create_directories(options.grids);
    path_ = fmt::format("{}/{}-{}-{}h-{}hz-{}.grids", options.grids, name, options.seed, options.hours,
                        options.rate, static_cast<int>(options.troubles));
    in_.open(path_, std::ios::binary);
    if (!in_) out_.open(path_ + ".part", std::ios::binary);
  }
  // Kept only when all of it was drawn.
  ~GridStore() {
    if (!out_.is_open()) return;
    out_.close();
    if (done_) std::filesystem::rename(path_ + ".part", path_);
  }
  GridStore(const GridStore&) = delete;
  GridStore& operator=(const GridStore&) = delete;

  void make(sim::SceneTime t, jpeg::LumaGrid& grid) {
    if (in_.is_open()) {
      grid.width = kBenchWidth;
      grid.height = kBenchHeight;
      grid.cells.resize(std::size_t{kBenchWidth} * kBenchHeight);
      if (!in_.read(reinterpret_cast<char*>(grid.cells.data()),
                    static_cast<std::streamsize>(grid.cells.size())))
        throw std::runtime_error(path_ + " is too short: delete it");
      return;
    }
    maker_.make(t, grid);
    if (out_.is_open())
      out_.write(reinterpret_cast<const char*>(grid.cells.data()),
                 static_cast<std::streamsize>(grid.cells.size()));
  }
  void finish() { done_ = static_cast<bool>(out_); }

 private:
  static constexpr int kBenchWidth = 80;
  static constexpr int kBenchHeight = 60;
  GridMaker& maker_;
  std::string path_;
  std::ifstream in_;
  std::ofstream out_;
  bool done_ = false;
};

void trace(const vision::MotionFrame& frame) {
  fmt::print("  {:.1f} s: energy {}, moving {}{}{}", seconds(frame.at), frame.energy, frame.moving_cells,
             frame.light == vision::MotionFrame::Light::switched ? ", lamp" : "",
             frame.view_changed ? ", view" : "");
  for (const vision::MovingRegion& region : frame.regions)
    fmt::print("; #{} {} cells {},{} {}×{} {}", region.track, region.cells, region.box.x, region.box.y,
               region.box.width, region.box.height, region.counts ? "counts" : region.why);
  fmt::print("\n");
}

// Of all that overlap: a lamp's or a door's moment within a longer event is told before that has ended.
Finds finds_of(const Span& truth, const std::vector<vision::MotionEvent>& events, std::vector<bool>& used) {
  Finds finds;
  for (std::size_t i = 0; i < events.size(); ++i) {
    if (!overlaps(truth, events[i].start, events[i].end)) continue;
    used[i] = true;
    finds.any = std::min(finds.any.value_or(events[i].start), events[i].start);
    if (events[i].cause != vision::MotionEvent::Cause::motion) continue;
    finds.motion = std::min(finds.motion.value_or(events[i].start), events[i].start);
  }
  return finds;
}

void list(const Finds& finds, const Span& truth, const sim::Scene& scene, GridMaker& maker) {
  const bool late = finds.motion && seconds(*finds.motion - truth.start) > kLate_s;
  if (finds.motion && !late) return;
  fmt::print("  {} {} {:.1f}–{:.1f} s, {:.1f} %, visible after {:.1f} s", finds.any ? "late" : "missed",
             truth.what, seconds(truth.start), seconds(truth.end), 100 * truth.share,
             seconds(visible_from(scene, maker, truth) - truth.start));
  if (finds.any) fmt::print(", found after {:.1f} s", seconds(*finds.any - truth.start));
  if (finds.motion)
    fmt::print(", by motion after {:.1f} s", seconds(*finds.motion - truth.start));
  else
    fmt::print(", not by motion");
  fmt::print("\n");
}

// How much stands out of the picture of `bare`, for each thing that moves.
void show_contrast(const sim::Scene& scene, GridMaker& maker, sim::SceneTime t, sim::SceneTime bare) {
  for (const sim::MovingBox& box : scene.moving_at(t)) {
    fmt::print("    {} {},{} {}×{}: cells", box.what, box.region.x / 2, box.region.y / 2,
               box.region.width / 2, box.region.height / 2);
    for (const double levels : {1.0, 2.0, 3.0, 4.0, 8.0})
      fmt::print(" {:.0f} levels {}", levels, maker.standing_out(t, bare, std::string(box.what), levels));
    fmt::print("\n");
  }
}

Score run(const Options& options, const std::string& name) {
  auto scene = sim::make_scene(name, options.seed, {160, 120});
  if (!scene) throw std::runtime_error(scene.error().text());
  GridMaker maker(**scene, name, options.seed, options.troubles);
  GridStore grids(options, name, maker);
  vision::MotionDetector detector({options.sensitivity});
  vision::MotionEvents gatherer({options.sensitivity});
  std::vector<vision::MotionEvent> events;
  const auto end =
      std::chrono::duration_cast<sim::SceneTime>(std::chrono::duration<double>(options.hours * 3600));
  const auto step =
      std::chrono::duration_cast<sim::SceneTime>(std::chrono::duration<double>(1 / options.rate));
  jpeg::LumaGrid grid;
  for (sim::SceneTime t{}; t < end; t += step) {
    grids.make(t, grid);
    const vision::MotionFrame& frame = detector.add(grid, t);
    if (seconds(t) >= options.trace_from_s && seconds(t) < options.trace_to_s) {
      trace(frame);
      show_contrast(**scene, maker, t, sim::SceneTime(static_cast<std::int64_t>(options.trace_from_s * 1e6)));
    }
    if (auto event = gatherer.add(frame, grid.width, grid.height)) events.push_back(*event);
  }
  if (auto event = gatherer.finish()) events.push_back(*event);
  grids.finish();
  const auto wanted = wanted_spans(**scene, end);
  Score score;
  score.truths = static_cast<int>(wanted.size());
  std::vector<bool> used(events.size(), false);
  for (const Span& truth : wanted) {
    const Finds finds = finds_of(truth, events, used);
    score.found += finds.any ? 1 : 0;
    score.found_by_motion += finds.motion ? 1 : 0;
    if (finds.motion) score.motion_delays_s.push_back(seconds(*finds.motion - truth.start));
    if (finds.any) score.delays_s.push_back(seconds(*finds.any - truth.start));
    if (options.list) list(finds, truth, **scene, maker);
  }
  const auto any = any_spans(**scene, end);
  for (std::size_t i = 0; i < events.size(); ++i) {
    if (events[i].cause != vision::MotionEvent::Cause::motion) continue;
    ++score.events;
    if (used[i] || explained(any, events[i].start, events[i].end)) continue;
    ++score.false_events;
    if (options.list) {
      const auto& box = events[i].box;
      fmt::print("  false {:.1f}–{:.1f} s, peak {:.2f} %, box {},{} {}×{}; {}\n", seconds(events[i].start),
                 seconds(events[i].end), 100 * events[i].peak, box.x, box.y, box.width, box.height,
                 maker.happening(events[i].start));
    }
  }
  return score;
}

double quantile(std::vector<double> values, double share) {
  if (values.empty()) return 0;
  const auto at = static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), values.begin() + at, values.end());
  return values[static_cast<std::size_t>(at)];
}

void print(std::string_view name, const Score& score, double days) {
  const auto recall = [&](int found) {
    return score.truths == 0 ? 1.0 : static_cast<double>(found) / score.truths;
  };
  fmt::print(
      "{:<10} {:>6} {:>6} {:>7.3f} {:>7} {:>6} {:>9.2f} {:>8.2f} {:>8.2f} {:>9.3f} {:>9.2f} {:>9.2f}\n", name,
      score.truths, score.found, recall(score.found), score.events, score.false_events,
      score.false_events / days, quantile(score.delays_s, 0.5), quantile(score.delays_s, 0.95),
      recall(score.found_by_motion), quantile(score.motion_delays_s, 0.5),
      quantile(score.motion_delays_s, 0.95));
  std::fflush(stdout);
}

int main_of(const Options& options) {
  fmt::print("{:<10} {:>6} {:>6} {:>7} {:>7} {:>6} {:>9} {:>8} {:>8} {:>9} {:>9} {:>9}\n", "scene", "truths",
             "found", "recall", "events", "false", "false/day", "delay50", "delay95", "by motion", "delay50",
             "delay95");
  Score all;
  double days = 0;
  for (const std::string_view name : sim::scene_names()) {
    if (!options.scene.empty() && options.scene != name) continue;
    const Score score = run(options, std::string(name));
    days += options.hours / 24;
    print(name, score, options.hours / 24);
    all.truths += score.truths;
    all.found += score.found;
    all.found_by_motion += score.found_by_motion;
    all.events += score.events;
    all.false_events += score.false_events;
    all.delays_s.insert(all.delays_s.end(), score.delays_s.begin(), score.delays_s.end());
    all.motion_delays_s.insert(all.motion_delays_s.end(), score.motion_delays_s.begin(),
                               score.motion_delays_s.end());
  }
  print("all", all, days);
  fmt::print("{:.2f} camera-days\n", days);
  return 0;
}

}  // namespace
}  // namespace rookery::bench

int main(int argc, char** argv) {
  using rookery::bench::Troubles;
  rookery::bench::Options options;
  bool calm = false;
  bool rough = false;
  std::vector<double> trace;
  CLI::App app{"Scores the motion detector against the workshop's truth"};
  app.add_option("--scene", options.scene, "Only this one");
  app.add_option("--hours", options.hours, "Of each scene")->check(CLI::PositiveNumber);
  app.add_option("--rate", options.rate, "Grids a second")->check(CLI::Range(0.5, 60.0));
  app.add_option("--seed", options.seed, "Of scenes and noise");
  app.add_option("--sensitivity", options.sensitivity, "1 coarse to 5 fine")->check(CLI::Range(1, 5));
  app.add_flag("--calm", calm, "No troubles besides the scene");
  app.add_flag("--rough", rough, "All troubles within half an hour");
  app.add_flag("--list", options.list, "What was missed and what was false");
  app.add_option("--grids", options.grids, "Folder that keeps what was drawn, 1 GB for 12 hours of a scene");
  app.add_option("--trace", trace, "Every picture from one second to another")->expected(2);
  CLI11_PARSE(app, argc, argv);
  if (calm || rough) options.troubles = calm ? Troubles::none : Troubles::rough;
  if (trace.size() == 2) {
    options.trace_from_s = trace[0];
    options.trace_to_s = trace[1];
  }
  return rookery::bench::main_of(options);
}
