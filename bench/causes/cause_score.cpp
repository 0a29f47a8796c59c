// How often is the cause of a dropout told rightly? Seeded lives of make-believe cameras (camera_life.h), the
// ranking of src/camera/causes.h, and a table of what was told against what was so. docs/causes.md has the
// results.
//
//   cause_score                 the ranges that the table was made with
//   cause_score --held-out      parameters outside of them, other seeds
//   cause_score --fit           prints a likelihood table from runs of the first kind
//   cause_score --show N        the first N dropouts that were told wrongly, with their evidence
//   cause_score --speed         time of one ranking
//   cause_score --runs N        only so many of each; fails when fewer than 9 of 10 names are right
#include <chrono>
#include <cstdlib>
#include <cstring>
#include <map>
#include <numeric>

#include <fmt/core.h>

#include "bench/causes/camera_life.h"

namespace rookery::bench {
namespace {

using camera::Cause;
using camera::kCauses;
using camera::kClues;
using camera::kMostValues;

constexpr int kTrained = 400;
constexpr int kHeldOut = 200;
constexpr int kHealthy = 200;
constexpr int kFitted = 1400;  // runs that the table is made from; none of them is scored

struct Run {
  std::vector<Cause> faults;
  std::vector<LivedDropout> dropouts;
};

// Each cause in turn; every fourth run mixes two.
std::vector<Cause> faults_of(int n) {
  const auto first = static_cast<Cause>(n % static_cast<int>(kCauses));
  if (n % 4 != 3) return {first};
  const int step = 1 + (n / 4) % (static_cast<int>(kCauses) - 1);
  return {first, static_cast<Cause>((n + step) % static_cast<int>(kCauses))};
}

Run run_of(int n, std::uint64_t seeds, bool held_out, bool healthy) {
  Run run;
  if (!healthy) run.faults = faults_of(n);
  LifeOptions options;
  options.seed = seeds + static_cast<std::uint64_t>(n);
  options.faults = run.faults;
  options.held_out = held_out;
  run.dropouts = live(options);
  return run;
}

struct Judged {
  const LivedDropout* dropout;
  camera::Evidence evidence;
  camera::Ranking ranking;
};

std::vector<Judged> judge(const Run& run) {
  std::vector<camera::PastDropout> past;
  std::vector<Judged> out;
  for (const LivedDropout& dropout : run.dropouts) {
    Judged one{&dropout, camera::read_evidence(dropout.seen), {}};
    one.ranking = camera::rank_causes(one.evidence, dropout.seen.began_wall, past);
    past.push_back({dropout.seen.began_wall, one.ranking.restarted, one.evidence.streamed_for_s,
                    one.evidence.uptime_before_s, one.evidence.booted_after_s, one.ranking.named});
    out.push_back(std::move(one));
  }
  return out;
}

struct Tally {
  std::array<std::array<int, kCauses + 1>, kCauses + 1> told{};  // [truth][named]; last: none
  std::array<int, kCauses> first_two{};
  int first_two_of_either = 0;
  int named_right_either = 0;
  std::array<int, kCauses> wrong_run{};
  int runs = 0;
  int runs_named = 0;  // in which a cause was named at all by the end
  int runs_wrong = 0;  // in which a wrong one was
};

void count(const Run& run, Tally& tally, int& show) {
  ++tally.runs;
  bool any = false;
  bool wrong = false;
  for (const Judged& one : judge(run)) {
    const std::size_t truth = one.dropout->truth ? static_cast<std::size_t>(*one.dropout->truth) : kCauses;
    const std::size_t named = one.ranking.named ? static_cast<std::size_t>(*one.ranking.named) : kCauses;
    ++tally.told[truth][named];
    any |= one.ranking.named.has_value();
    const bool right = named == truth || (one.dropout->second && one.ranking.named == one.dropout->second);
    wrong |= one.ranking.named.has_value() && !right;
    if (truth < kCauses) {
      const bool within = one.ranking.causes[0].cause == *one.dropout->truth ||
                          one.ranking.causes[1].cause == *one.dropout->truth;
      tally.first_two[truth] += within ? 1 : 0;
      if (one.ranking.named && right) ++tally.named_right_either;
    }
    const bool worth =
        named != truth && (show < 0 ? !one.ranking.named && truth < kCauses : one.ranking.named.has_value());
    if (worth && show != 0) {
      show += show < 0 ? 1 : -1;
      fmt::print("\ntruth {}, told {}: {}\n", truth < kCauses ? camera::name_of(*one.dropout->truth) : "none",
                 named < kCauses ? camera::name_of(*one.ranking.named) : "none", one.ranking.verdict);
      for (const std::string& line : one.ranking.evidence) fmt::print("  {}\n", line);
      for (const auto& ranked : one.ranking.causes)
        if (ranked.probability > 0.01)
          fmt::print("  {} {:.2f}", camera::name_of(ranked.cause), ranked.probability);
      fmt::print("  none {:.2f}\n", one.ranking.unexplained);
    }
  }
  tally.runs_named += any ? 1 : 0;
  tally.runs_wrong += wrong ? 1 : 0;
}

void print(const char* title, const Tally& tally) {
  fmt::print("\n{}: {} runs\n\n| truth \\ named |", title, tally.runs);
  for (std::size_t n = 0; n < kCauses; ++n) fmt::print(" {} |", camera::name_of(static_cast<Cause>(n)));
  fmt::print(" none | named | right when named | in first two |\n|---|");
  for (std::size_t n = 0; n < kCauses + 4; ++n) fmt::print("--:|");
  fmt::print("\n");
  int all = 0, named_all = 0, right_all = 0, two_all = 0;
  for (std::size_t truth = 0; truth <= kCauses; ++truth) {
    const auto& row = tally.told[truth];
    if (std::accumulate(row.begin(), row.end(), 0) == 0) continue;
    const int total = std::accumulate(row.begin(), row.end(), 0);
    const int named = total - row[kCauses];
    fmt::print("| {} |", truth < kCauses ? camera::name_of(static_cast<Cause>(truth)) : "hiccup");
    for (const int cell : row) fmt::print(" {} |", cell);
    if (truth == kCauses) {
      fmt::print(" {:.1f} % | – | – |\n", total > 0 ? 100.0 * named / total : 0);
      continue;
    }
    fmt::print(" {:.1f} % | {:.1f} % | {:.1f} % |\n", 100.0 * named / std::max(1, total),
               100.0 * row[truth] / std::max(1, named), 100.0 * tally.first_two[truth] / std::max(1, total));
    all += total;
    named_all += named;
    right_all += row[truth];
    two_all += tally.first_two[truth];
  }
  if (all == 0) {
    fmt::print("\nRuns in which any cause was named: {} of {}\n", tally.runs_named, tally.runs);
    return;
  }
  fmt::print(
      "\nDropouts {}, named {:.1f} %, right when named {:.1f} % ({:.1f} % when either of two that met "
      "counts), true "
      "cause among the first two {:.1f} %; runs with a wrong name {} of {}\n",
      all, 100.0 * named_all / all, 100.0 * right_all / std::max(1, named_all),
      100.0 * tally.named_right_either / std::max(1, named_all), 100.0 * two_all / all, tally.runs_wrong,
      tally.runs);
}

void fit() {
  // Counts, begun at half a dropout each, so that nothing is impossible.
  std::array<std::array<std::array<double, camera::kKinds>, kMostValues>, kClues> counts{};
  const auto add = [&](const Run& run) {
    std::vector<camera::PastDropout> past;
    for (const LivedDropout& dropout : run.dropouts) {
      const auto evidence = camera::read_evidence(dropout.seen);
      const auto pattern = camera::find_pattern(evidence, dropout.seen.began_wall, past);
      past.push_back({dropout.seen.began_wall, camera::has_restarted(evidence), evidence.streamed_for_s,
                      evidence.uptime_before_s, evidence.booted_after_s, std::nullopt});
      const auto clues = camera::clues_of(evidence, pattern);
      const auto truth = static_cast<std::size_t>(dropout.kind);
      for (std::size_t clue = 0; clue < kClues; ++clue) ++counts[clue][clues[clue]][truth];
    }
  };
  for (int n = 0; n < kFitted; ++n) add(run_of(n, 1'000'000, false, false));
  for (int n = 0; n < kFitted / 3; ++n) add(run_of(n, 2'000'000, false, true));
  for (std::size_t clue = 0; clue < kClues; ++clue) {
    fmt::print("    {{{{\n");
    std::array<double, camera::kKinds> sums{};
    for (std::size_t value = 1; value < kMostValues; ++value)
      for (std::size_t cause = 0; cause < camera::kKinds; ++cause) sums[cause] += counts[clue][value][cause];
    for (std::size_t value = 0; value < kMostValues; ++value) {
      fmt::print("        {{");
      for (std::size_t cause = 0; cause < camera::kKinds; ++cause) {
        const double share = value == 0 || sums[cause] == 0 ? 1.0 : counts[clue][value][cause] / sums[cause];
        fmt::print("{}{:.3f}", cause == 0 ? "" : ", ", value == 0 ? 1.0 : std::max(0.02, share));
      }
      fmt::print("}},\n");
    }
    fmt::print("    }}}},\n");
  }
}

void measure_speed() {
  std::vector<Run> runs;
  for (int n = 0; n < 28; ++n) runs.push_back(run_of(n, 1, false, false));
  std::size_t many = 0;
  const auto began = std::chrono::steady_clock::now();
  for (int n = 0; n < 20; ++n)
    for (const Run& run : runs) many += judge(run).size();
  const double took = std::chrono::duration<double>(std::chrono::steady_clock::now() - began).count();
  fmt::print("{} rankings, {:.1f} µs each\n", many, 1e6 * took / static_cast<double>(many));
  // What a healthy camera costs: ten pictures and one look a second.
  constexpr int kSeconds = 20'000;
  camera::GapRecorder recorder;
  const auto from = std::chrono::steady_clock::now();
  for (int n = 0; n < kSeconds * 10; ++n) {
    camera::PictureSeen seen;
    seen.at = base::MonoTime(std::chrono::milliseconds(100) * n);
    seen.bytes = 30'000;
    seen.connection = 1;
    recorder.picture(seen);
    if (n % 10 != 0) continue;
    camera::LinkSample link;
    link.at = seen.at;
    recorder.link(link);
    recorder.look(seen.at, base::WallTime(std::chrono::milliseconds(100) * n));
  }
  const double watched = std::chrono::duration<double>(std::chrono::steady_clock::now() - from).count();
  fmt::print("A second of a healthy camera at 10 pictures a second: {:.2f} µs\n", 1e6 * watched / kSeconds);
}

int main_of(int argc, char** argv) {
  bool held_out = false;
  int show = 0;
  int most = kTrained;
  for (int n = 1; n < argc; ++n) {
    if (std::strcmp(argv[n], "--held-out") == 0) held_out = true;
    if (std::strcmp(argv[n], "--show") == 0 && n + 1 < argc) show = std::atoi(argv[n + 1]);
    if (std::strcmp(argv[n], "--runs") == 0 && n + 1 < argc) most = std::atoi(argv[n + 1]);
    if (std::strcmp(argv[n], "--fit") == 0) return fit(), 0;
    if (std::strcmp(argv[n], "--speed") == 0) return measure_speed(), 0;
  }
  const std::uint64_t seeds = held_out ? 60'000'000 : 10'000'000;
  Tally faulty;
  Tally healthy;
  for (int n = 0; n < std::min(most, held_out ? kHeldOut : kTrained); ++n)
    count(run_of(n, seeds, held_out, false), faulty, show);
  for (int n = 0; n < std::min(most, kHealthy); ++n)
    count(run_of(n, seeds + 500'000, held_out, true), healthy, show);
  print(held_out ? "Parameters outside the range" : "Parameters within the range", faulty);
  print("Healthy", healthy);
  int named = 0;
  int right = 0;
  for (std::size_t truth = 0; truth < kCauses; ++truth) {
    named += std::accumulate(faulty.told[truth].begin(), faulty.told[truth].end() - 1, 0);
    right += faulty.told[truth][truth];
  }
  return right * 10 >= named * 9 ? 0 : 1;
}

}  // namespace
}  // namespace rookery::bench

int main(int argc, char** argv) { return rookery::bench::main_of(argc, argv); }
