// Scores lapses against the workshop's truth: jobs drawn as fast as it goes and made into luma grids as a
// board's JPEG would give them, of which each rule chooses its pictures; and what levelling does to the film.
//
//   lapse_score [--scene NAME] [--layer S…] [--least] [--grids FOLDER]     how unlike neighbours are
//   lapse_score --shown [--ssim FILE] …                                    the same of the films as shown
//   lapse_score --knocks [--scene NAME] …                                  what steadying finds
//   lapse_score --levels [--scene NAME] [--grids FOLDER]                   how much the light flickers
//
// docs/lapse.md has the results and says what the columns are.
#include <cmath>
#include <cstdio>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "bench/lapse/job_film.h"
#include "bench/lapse/job_knocks.h"
#include "bench/lapse/job_shown.h"
#include "vision/lapse_measures.h"

namespace rookery::bench {
namespace {

struct Options {
  std::string scene;
  double every_s = 60;
  std::vector<float> layers_s{20, 47, 90};
  double rate = 1;
  std::uint64_t seed = 1;
  double hours = 3;
  bool bound = false;
  bool levels = false;
  bool shown = false;
  bool knocks = false;
  std::string ssim;
  std::string what;
  int width = 640;
  std::string folder;
  vision::LapseWeights weights;
};

constexpr double kWanted = 0.35;   // of even spacing's unlikeness
constexpr double kLevelled = 0.3;  // of the flicker that was there

struct Job {
  JobOptions options;
  std::string what;
  double every_s = 60;
};

JobOptions job_of(const Options& options, std::string scene) {
  JobOptions job;
  job.scene = std::move(scene);
  job.stills_per_s = options.rate;
  job.most_hours = options.hours;
  job.seed = options.seed;
  job.size = {options.width, options.width * 3 / 4};
  job.folder = options.folder;
  return job;
}

// The other two scenes in which something is made are in more haste.
void add_hasty(const Options& options, std::vector<Job>& jobs) {
  for (const auto& [scene, every_s] : {std::pair{"seedlings", 10.0}, {"kiln", 8.0}}) {
    Job job{job_of(options, scene), "", every_s};
    job.options.stills_per_s = 2;
    jobs.push_back(job);
  }
}

vision::LapseOptions lapse_of(const Options& options, const Job& job, const FilmedJob& film) {
  vision::LapseOptions lapse;
  lapse.slots = {0, job.every_s, 1 + static_cast<int>(film.stills().back().at_s / job.every_s)};
  lapse.weights = options.weights;
  return lapse;
}

struct Tally {
  int jobs = 0;
  int reached = 0;
  double worst = 0;
  void add(double share, double wanted) {
    ++jobs;
    reached += share <= wanted ? 1 : 0;
    worst = std::max(worst, share);
  }
  std::string text() const { return fmt::format("{} of {}, the worst {:.2f}", reached, jobs, worst); }
};

void choice_row(const Options& options, const Job& job, Tally& seen, Tally& quieted, Tally& clean) {
  FilmedJob film(job.options);
  vision::LapseOptions lapse = lapse_of(options, job, film);
  const auto by = [&](vision::LapseRule rule) {
    lapse.rule = rule;
    return film.score(lapse);
  };
  const LapseScore even = by(vision::LapseRule::even);
  const LapseScore middle = by(vision::LapseRule::middle);
  const LapseScore likest = by(vision::LapseRule::likest);
  const double least = options.bound ? film.least_unlike(lapse) : 0;
  const double least_quiet = options.bound ? film.least_quiet(lapse) : 0;
  const bool prints = !job.what.empty();
  fmt::print("{:<9} {:<5} {:>3} {:>5} {:>4} |", job.options.scene, job.what,
             prints ? fmt::format("{}", job.options.layer_s) : "", film.stills().size(), likest.frames);
  fmt::print(" {:>5.2f} {:>5.2f} {:>5.2f} {:>5.2f} {:>5} |", even.unlike, middle.unlike, likest.unlike,
             likest.unlike / even.unlike, options.bound ? fmt::format("{:.2f}", least / even.unlike) : "");
  fmt::print(" {:>5.2f} {:>5.2f} {:>6.3f} {:>5.2f} {:>5} |", even.quiet, likest.quiet,
             likest.quiet / even.unlike, likest.quiet / even.quiet,
             options.bound ? fmt::format("{:.3f}", least_quiet / even.unlike) : "");
  fmt::print(" {:>5.2f} {:>5.2f} {:>5.2f} |", even.clean, likest.clean, likest.clean / even.clean);
  for (const LapseScore& s : {even, middle, likest})
    fmt::print(" {:>4.1f}/{:>5.1f}", s.head_mean, s.head_p95);
  fmt::print(" |");
  for (const LapseScore& s : {even, middle, likest}) fmt::print(" {:>4.1f}", s.part_mean);
  fmt::print(" |");
  for (const LapseScore& s : {even, middle, likest}) fmt::print(" {:>4.1f}", s.spacing_s);
  fmt::print(" | {:.2f} {:.2f}\n", likest.shrinking, likest.seconds);
  std::fflush(stdout);
  if (!prints) return;
  seen.add(likest.unlike / even.unlike, kWanted);
  clean.add(likest.clean / even.clean, kWanted);
  quieted.add(likest.quiet / even.unlike, kWanted);
}

std::vector<Job> printed_jobs(const Options& options) {
  std::vector<Job> jobs;
  for (const std::string scene : {"anvil", "bobbin", "cog"}) {
    for (const auto& [kind, what] : {std::pair{sim::PrintedKind::vase, "vase"},
                                     {sim::PrintedKind::gear, "gear"},
                                     {sim::PrintedKind::tower, "tower"}}) {
      for (const float layer : options.layers_s) {
        Job job{job_of(options, scene), what, options.every_s};
        job.options.kind = kind;
        job.options.layer_s = layer;
        if ((options.scene.empty() || options.scene == scene) &&
            (options.what.empty() || options.what == what))
          jobs.push_back(job);
      }
    }
  }
  return jobs;
}

void choose_all(const Options& options) {
  std::vector<Job> jobs = printed_jobs(options);
  add_hasty(options, jobs);
  fmt::print("{:<30} | {:<29} | {:<30} | {:<17} | {:<32} | {:<14} | {:<14} |\n", "", "unlike, grey levels",
             "quieted", "without noise", "head's steps px, mean/p95", "part's steps", "rms spacing s");
  fmt::print(
      "{:<9} {:<5} {:>3} {:>5} {:>4} | {:>5} {:>5} {:>5} {:>5} {:>5} | {:>5} {:>5} {:>6} {:>5} {:>5} | {:>5} "
      "{:>5} "
      "{:>5} |",
      "scene", "part", "s", "taken", "film", "even", "mid", "like", "share", "least", "even", "like", "film",
      "both", "least", "even", "like", "share");
  fmt::print(" {:>10} {:>10} {:>10} | {:>4} {:>4} {:>4} | {:>4} {:>4} {:>4} | shrinks CPU s\n", "even", "mid",
             "like", "even", "mid", "like", "even", "mid", "like");
  Tally seen;
  Tally quieted;
  Tally clean;
  for (const Job& job : jobs) {
    if (options.scene.empty() || options.scene == job.options.scene)
      choice_row(options, job, seen, quieted, clean);
  }
  if (seen.jobs > 0)
    fmt::print("printers at most {} of even spacing: the film {}; not quieted {}; without noise {}\n",
               kWanted, quieted.text(), seen.text(), clean.text());
}

// What is true of a row of pictures.
struct RowTruth {
  double head_spread = 0;  // rms distance of the head's tip from its mean place, px of 640
  int shrinking = 0;       // steps in which the part is smaller than before
  int disorder = 0;        // frames that are not later than the one before
};
RowTruth truth_of(const Options& options, const FilmedJob& film, const std::vector<std::size_t>& row) {
  RowTruth truth;
  double x = 0, y = 0, squares = 0, count = 0;
  const JobStill* before = nullptr;
  for (const std::size_t number : row) {
    const JobStill& now = film.stills()[number];
    if (before != nullptr) {
      truth.shrinking += now.truth.grown < before->truth.grown ? 1 : 0;
      truth.disorder += now.at_s <= before->at_s ? 1 : 0;
    }
    before = &now;
    if (!now.truth.head) continue;
    const double hx = static_cast<double>(now.truth.head->x) * 640 / options.width;
    const double hy = static_cast<double>(now.truth.head->y) * 640 / options.width;
    x += hx;
    y += hy;
    squares += hx * hx + hy * hy;
    ++count;
  }
  if (count > 0) truth.head_spread = std::sqrt(std::max(0.0, (squares - (x * x + y * y) / count) / count));
  return truth;
}

struct ShownTallies {
  Tally sent, film, both;
  int shrinking = 0;
  int disorder = 0;
};

void shown_row(const Options& options, const Job& job, ShownTallies& tallies) {
  FilmedJob film(job.options);
  vision::LapseOptions lapse = lapse_of(options, job, film);
  ShownFilm shown(job.options, options.ssim);
  const auto row_by = [&](vision::LapseRule rule) {
    lapse.rule = rule;
    std::vector<std::size_t> row;
    for (const auto& frame : film.choose(lapse).frames) row.push_back(frame.picture);
    return row;
  };
  const auto even_row = row_by(vision::LapseRule::even);
  const auto row = row_by(vision::LapseRule::likest);
  const ShownScore even = shown.score(film.stills(), even_row);
  const ShownScore like = shown.score(film.stills(), row);
  const RowTruth even_truth = truth_of(options, film, even_row);
  const RowTruth truth = truth_of(options, film, row);
  fmt::print("{:<7} {:<5} {:>3} {:>4} | {:>5.2f} {:>5.2f} | {:>5.2f} {:>5.2f} | {:>5.3f} {:>5.3f} {:>5.3f} |",
             job.options.scene, job.what, job.options.layer_s, row.size(), even.sent, even.quiet, like.sent,
             like.quiet, like.sent / even.sent, like.quiet / even.sent, like.quiet / even.quiet);
  fmt::print(" {:.2f} | {:.4f} {:.4f} {:.4f} | {:>5.1f} {:>5.1f} | {} {}\n", like.taken, even.ssim_sent,
             like.ssim_sent, like.ssim_quiet, even_truth.head_spread, truth.head_spread, truth.shrinking,
             truth.disorder);
  std::fflush(stdout);
  tallies.sent.add(like.sent / even.sent, kWanted);
  tallies.film.add(like.quiet / even.sent, kWanted);
  tallies.both.add(like.quiet / even.quiet, kWanted);
  tallies.shrinking += truth.shrinking;
  tallies.disorder += truth.disorder;
}

void show_all(const Options& options) {
  fmt::print("{:<22} | {:<11} | {:<11} | {:<17} |      | {:<20} | {:<11} | shrinks\n", "", "even", "likest",
             "shares", "SSIM", "head spread");
  fmt::print("{:<7} {:<5} {:>3} {:>4} | {:>5} {:>5} | {:>5} {:>5} | {:>5} {:>5} {:>5} |", "scene", "part",
             "s", "film", "sent", "quiet", "sent", "quiet", "sent", "film", "both");
  fmt::print(" take | {:<6} {:<6} {:<6} | {:>5} {:>5} | disorder\n", "even", "like", "film", "even", "like");
  ShownTallies tallies;
  for (const Job& job : printed_jobs(options)) shown_row(options, job, tallies);
  fmt::print("at most {} of even spacing: as sent {}; the film {}; both quieted {}\n", kWanted,
             tallies.sent.text(), tallies.film.text(), tallies.both.text());
  fmt::print("steps in which the part shrinks {}, frames out of order {}\n", tallies.shrinking,
             tallies.disorder);
}

void knock_all(const Options& options) {
  fmt::print("{:<7} {:<5} {:>3} {:>6} {:>5} {:>4} | error: turn mean/most, shift mean/most | large, cut\n",
             "scene", "part", "s", "frames", "found", "cuts");
  for (const Job& job : printed_jobs(options)) {
    FilmedJob film(job.options);
    const KnockScore score = score_knocks(film, job.options, film.choose(lapse_of(options, job, film)));
    fmt::print("{:<7} {:<5} {:>3} {:>6} {:>5} {:>4} | {:.3f}/{:.3f} deg {:.2f}/{:.2f} px | {} {}\n",
               job.options.scene, job.what, job.options.layer_s, score.frames, score.found, score.cuts,
               score.turn_mean, score.turn_most, score.shift_mean, score.shift_most, score.large,
               score.large_cut);
    std::fflush(stdout);
  }
}

void level_row(const Options& options, const Job& job, Tally& tally) {
  FilmedJob film(job.options);
  vision::LapseOptions lapse = lapse_of(options, job, film);
  lapse.rule = vision::LapseRule::even;
  const LevelScores even = film.level(film.choose(lapse));
  lapse.rule = vision::LapseRule::likest;
  vision::LapseChoice choice = film.choose(lapse);
  const LevelScores likest = film.level(choice);
  const std::size_t dark = vision::leave_out_dark(choice).size();
  const LevelScores bridged = dark > 0 ? film.level(choice) : likest;
  const double share = bridged.after.flicker / bridged.before.flicker;
  fmt::print("{:<9} {:<8} {:>4} |", job.options.scene, name_of(job.options.light), likest.frames);
  fmt::print(" {:>5.2f} {:>5.2f} {:>5.2f} | {:>4} {:>5.2f} {:>5.2f} {:>5.2f} |", even.before.flicker,
             likest.before.flicker, likest.after.flicker, dark, bridged.before.flicker, bridged.after.flicker,
             share);
  fmt::print(" {:>5.2f} {:>5.2f} {:>5.2f} |", even.before.spread, likest.after.spread, bridged.after.spread);
  fmt::print(" {:>4.2f} {:>4.2f} | {:>5.2f} {:>5.2f} |", bridged.before.colour, bridged.after.colour,
             bridged.before.banding, bridged.after.banding);
  fmt::print(" {:>3} {:>3} | {:.1f} {:.1f} {:.1f}\n", likest.limited, likest.lamps, likest.sample_ms,
             likest.plan_ms, likest.apply_ms);
  std::fflush(stdout);
  tally.add(share, kLevelled);
}

void level_all(const Options& options) {
  fmt::print("{:<23} | {:<17} | {:<22} | {:<17} | {:<9} | {:<11} | {:<7} | {}\n", "", "flicker, levels",
             "the dark left out", "spread, levels", "colour", "bands", "frames", "CPU ms a frame");
  fmt::print("{:<9} {:<8} {:>4} |", "scene", "light", "film");
  fmt::print(" {:>5} {:>5} {:>5} | {:>4} {:>5} {:>5} {:>5} | {:>5} {:>5} {:>5} |", "even", "like", "is",
             "dark", "was", "is", "share", "even", "is", "out");
  fmt::print(" {:>4} {:>4} | {:>5} {:>5} | lim lmp | look plan apply\n", "was", "is", "was", "is");
  Tally tally;
  for (const Light light : {Light::exposure, Light::lamp, Light::bands}) {
    std::vector<Job> jobs;
    for (const std::string scene : {"anvil", "bobbin", "cog"})
      jobs.push_back({job_of(options, scene), "", options.every_s});
    add_hasty(options, jobs);
    for (Job& job : jobs) {
      if (!options.scene.empty() && options.scene != job.options.scene) continue;
      job.options.light = light;
      level_row(options, job, tally);
    }
  }
  fmt::print("flicker at most {} of what it was: {}\n", kLevelled, tally.text());
}

}  // namespace
}  // namespace rookery::bench

int main(int argc, char** argv) {
  rookery::bench::Options options;
  CLI::App app{"Scores lapses against the workshop's truth"};
  app.add_option("--scene", options.scene, "Only this one");
  app.add_option("--every", options.every_s, "Seconds between two pictures of a print's lapse")
      ->check(CLI::PositiveNumber);
  app.add_option("--layer", options.layers_s, "Seconds that a layer takes");
  app.add_option("--rate", options.rate, "Stills of a print a second")->check(CLI::Range(0.01, 10.0));
  app.add_option("--seed", options.seed, "Of scenes and noise");
  app.add_option("--hours", options.hours, "Of each job, at most")->check(CLI::PositiveNumber);
  app.add_option("--width", options.width, "Of the pictures as drawn")->check(CLI::IsMember({160, 320, 640}));
  app.add_flag("--least", options.bound, "With the least share that any row of pictures could have");
  app.add_flag("--shown", options.shown, "Of the prints' films as shown: drawn, sent as JPEG, quieted");
  app.add_flag("--knocks", options.knocks, "What steadying finds of knocks against the camera, instead");
  app.add_option("--ssim", options.ssim, "With SSIM by FFmpeg's program; the beginning of two files' names");
  app.add_option("--part", options.what, "Only this one: vase, gear or tower");
  app.add_flag("--levels", options.levels, "What levelling does to the light, instead");
  app.add_option("--grids", options.folder, "Folder that keeps what was drawn, some 700 MB");
  app.add_option("--spacing-weight", options.weights.spacing, "Other than usual");
  app.add_option("--head-weight", options.weights.head, "Other than usual");
  app.add_option("--light-weight", options.weights.light, "Other than usual");
  CLI11_PARSE(app, argc, argv);
  if (options.knocks)
    rookery::bench::knock_all(options);
  else if (options.shown)
    rookery::bench::show_all(options);
  else
    options.levels ? rookery::bench::level_all(options) : rookery::bench::choose_all(options);
  return 0;
}
