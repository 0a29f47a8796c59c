// Scores the choice of a lapse's pictures against the workshop's truth: jobs drawn at a quarter of their
// size, made into luma grids as a board's JPEG would give them, as fast as it goes.
//
//   lapse_score [--scene NAME] [--every S] [--layer S…] [--rate STILLS_PER_S] [--seed N] [--light]
//
// Prints a row a job: how unlike neighbours are by each rule, how far the head steps. docs/lapse.md has the
// results.
#include <cstdio>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "bench/lapse/job_film.h"

namespace rookery::bench {
namespace {

struct Options {
  std::string scene;
  double every_s = 60;
  std::vector<float> layers_s{47};
  double rate = 1;
  std::uint64_t seed = 1;
  double hours = 3;
  bool bound = false;
  int width = 640;
  std::string folder;
  vision::LapseWeights weights;
};

constexpr double kWanted = 0.35;  // of even spacing's unlikeness

struct Ratio {
  double worst = 0;
  double worst_clean = 0;
  int missed = 0;
  int missed_clean = 0;
  int jobs = 0;
};

void row(const Options& options, const JobOptions& job, std::string_view what, Ratio& ratio) {
  FilmedJob film(job);
  vision::LapseOptions lapse;
  const double length = film.stills().back().at_s;
  lapse.slots = {0, options.every_s, 1 + static_cast<int>(length / options.every_s)};
  lapse.weights = options.weights;
  const auto by = [&](vision::LapseRule rule) {
    lapse.rule = rule;
    return film.score(lapse);
  };
  const LapseScore even = by(vision::LapseRule::even);
  const LapseScore middle = by(vision::LapseRule::middle);
  const LapseScore likest = by(vision::LapseRule::likest);
  const double share = likest.unlike / even.unlike;
  const double clean = likest.clean / even.clean;
  const double least = options.bound ? film.least_unlike(lapse) / even.unlike : 0;
  fmt::print("{:<10} {:<6} {:>5.0f} {:>6} {:>5} |", job.scene, what, static_cast<double>(job.layer_s),
             film.stills().size(), likest.frames);
  fmt::print(" {:>5.2f} {:>5.2f} {:>5.2f} {:>5.2f} {:>5.2f} |", even.unlike, middle.unlike, likest.unlike,
             share, least);
  fmt::print(" {:>5.2f} {:>5.2f} {:>5.2f} |", even.clean, likest.clean, clean);
  for (const LapseScore& s : {even, middle, likest})
    fmt::print(" {:>5.1f}/{:>5.1f}", s.head_mean, s.head_p95);
  fmt::print(" |");
  for (const LapseScore& s : {even, middle, likest}) fmt::print(" {:>5.1f}", s.part_mean);
  fmt::print(" |");
  for (const LapseScore& s : {even, middle, likest}) fmt::print(" {:>5.1f}", s.spacing_s);
  fmt::print(" | {:.2f} {:.2f} s\n", likest.shrinking, likest.seconds);
  std::fflush(stdout);
  ++ratio.jobs;
  ratio.worst = std::max(ratio.worst, share);
  ratio.worst_clean = std::max(ratio.worst_clean, clean);
  ratio.missed_clean += clean > kWanted ? 1 : 0;
  ratio.missed += share > kWanted ? 1 : 0;
}

int main_of(const Options& options) {
  fmt::print("{:<29} {:>5} | {:<29} | {:<17} | {:<35} | {:<17} | {:<17} |\n", "", "", "unlike, levels",
             "without noise", "head step px, mean/p95", "part step px", "rms spacing s");
  fmt::print("{:<10} {:<6} {:>5} {:>6} {:>5} | {:>5} {:>5} {:>5} {:>5} {:>5} | {:>5} {:>5} {:>5} |", "scene",
             "object", "layer", "stills", "film", "even", "mid", "like", "share", "least", "even", "like",
             "share");
  fmt::print(" {:>11} {:>11} {:>11} | {:>5} {:>5} {:>5} | {:>5} {:>5} {:>5} | shrinks, CPU\n", "even", "mid",
             "like", "even", "mid", "like", "even", "mid", "like");
  Ratio ratio;
  JobOptions job{.stills_per_s = options.rate,
                 .most_hours = options.hours,
                 .seed = options.seed,
                 .size = {options.width, options.width * 3 / 4},
                 .folder = options.folder};
  for (const std::string scene : {"anvil", "bobbin", "cog"}) {
    if (!options.scene.empty() && options.scene != scene) continue;
    for (const auto& [kind, what] : {std::pair{sim::PrintedKind::vase, "vase"},
                                     {sim::PrintedKind::gear, "gear"},
                                     {sim::PrintedKind::tower, "tower"}}) {
      for (const float layer : options.layers_s) {
        job.scene = scene;
        job.kind = kind;
        job.layer_s = layer;
        row(options, job, what, ratio);
      }
    }
  }
  fmt::print("printers: {} of {} jobs at most {} of even spacing; the worst {:.2f}\n",
             ratio.jobs - ratio.missed, ratio.jobs, kWanted, ratio.worst);
  return 0;
}

}  // namespace
}  // namespace rookery::bench

int main(int argc, char** argv) {
  rookery::bench::Options options;
  CLI::App app{"Scores lapses against the workshop's truth"};
  app.add_option("--scene", options.scene, "Only this one");
  app.add_option("--every", options.every_s, "Seconds between two pictures of the lapse")
      ->check(CLI::PositiveNumber);
  app.add_option("--layer", options.layers_s, "Seconds that a layer takes");
  app.add_option("--rate", options.rate, "Stills a second")->check(CLI::Range(0.01, 10.0));
  app.add_option("--seed", options.seed, "Of scenes and noise");
  app.add_option("--hours", options.hours, "Of each job, at most")->check(CLI::PositiveNumber);
  app.add_option("--width", options.width, "Of the pictures as drawn")->check(CLI::IsMember({160, 320, 640}));
  app.add_flag("--least", options.bound, "With the least share that any row of pictures could have");
  app.add_option("--grids", options.folder, "Folder that keeps what was drawn, some 200 MB");
  app.add_option("--spacing-weight", options.weights.spacing, "");
  app.add_option("--head-weight", options.weights.head, "");
  app.add_option("--light-weight", options.weights.light, "");
  CLI11_PARSE(app, argc, argv);
  return rookery::bench::main_of(options);
}
