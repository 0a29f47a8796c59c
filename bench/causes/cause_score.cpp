// How often is the cause of a dropout told rightly? Seeded lives of make-believe cameras (camera_life.h), the
// ranking of src/camera/causes.h, and a table of what was told against what was so. docs/causes.md has the
// results.
//
//   cause_score                 the ranges that the table was made with
//   cause_score --held-out      parameters outside of them, other seeds
//   cause_score --develop       either with other seeds, to try things on: what is scored is not to be looked
//   at cause_score --fit           prints a likelihood table from runs of the first kind, none of which is
//   scored cause_score --show N        the first N dropouts that were told wrongly, with their evidence
//   cause_score --speed         time of one ranking
//   cause_score --runs N        only so many of each; fails when fewer than 9 of 10 names are right
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <cstring>
#include <map>
#include <numeric>

#include <fmt/core.h>

#include "bench/causes/camera_life.h"
#include "camera/cause_clues.h"
#include "camera/cause_table.h"

namespace rookery::bench {
namespace {

using camera::Cause;
using camera::Clue;
using camera::kCauses;
using camera::kClues;
using camera::kKinds;
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
  camera::Ranking ranking;  // when it was over
  camera::Ranking again;    // when the run was over
};

std::vector<Judged> judge(const Run& run) {
  std::vector<camera::PastDropout> past;
  std::vector<Judged> out;
  for (const LivedDropout& dropout : run.dropouts) {
    Judged one{&dropout, camera::read_evidence(dropout.seen), {}, {}};
    one.ranking = camera::rank_causes(one.evidence, dropout.seen.began_wall, past);
    past.push_back(camera::to_past(dropout.seen.began_wall, one.evidence, one.ranking));
    out.push_back(std::move(one));
  }
  for (Judged& one : out) one.again = camera::rank_causes(one.evidence, one.dropout->seen.began_wall, past);
  return out;
}

struct Tally {
  std::array<std::array<int, kCauses + 1>, kCauses + 1> told{};  // [truth][named]; last: none
  std::array<int, kCauses> first_two{};
  int named_right_either = 0;
  int runs = 0;
  int runs_named = 0;  // in which a cause was named at all by the end
  int runs_wrong = 0;  // in which a wrong one was
};

void show_one(const Judged& one, const camera::Ranking& ranking) {
  const auto name = [](std::optional<Cause> cause) { return cause ? camera::name_of(*cause) : "none"; };
  fmt::print("\ntruth {}, told {}: {}\n", name(one.dropout->truth), name(ranking.named), ranking.verdict);
  for (const std::string& line : ranking.evidence) fmt::print("  {}\n", line);
  for (const auto& ranked : ranking.causes)
    if (ranked.probability > 0.01)
      fmt::print("  {} {:.2f}", camera::name_of(ranked.cause), ranked.probability);
  fmt::print("  none {:.2f}\n", ranking.unexplained);
}

// which: what was told when it was over, or again when the run was.
void count(const std::vector<Judged>& judged, camera::Ranking Judged::*which, Tally& tally, int& show) {
  ++tally.runs;
  bool any = false;
  bool wrong = false;
  for (const Judged& one : judged) {
    const camera::Ranking& ranking = one.*which;
    const std::size_t truth = one.dropout->truth ? static_cast<std::size_t>(*one.dropout->truth) : kCauses;
    const std::size_t named = ranking.named ? static_cast<std::size_t>(*ranking.named) : kCauses;
    ++tally.told[truth][named];
    any |= ranking.named.has_value();
    const bool right = named == truth || (one.dropout->second && ranking.named == one.dropout->second);
    wrong |= ranking.named.has_value() && !right;
    if (truth < kCauses) {
      const bool within =
          ranking.causes[0].cause == *one.dropout->truth || ranking.causes[1].cause == *one.dropout->truth;
      tally.first_two[truth] += within ? 1 : 0;
      if (ranking.named && right) ++tally.named_right_either;
    }
    const bool worth =
        named != truth && (show < 0 ? !ranking.named && truth < kCauses : ranking.named.has_value());
    if (!worth || show == 0) continue;
    show += show < 0 ? 1 : -1;
    show_one(one, ranking);
  }
  tally.runs_named += any ? 1 : 0;
  tally.runs_wrong += wrong ? 1 : 0;
}

void print(const std::string& title, const Tally& tally) {
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

// How often each clue had each value with each kind.
using Counts = std::array<std::array<camera::KindShares, kMostValues>, kClues>;

void add_counts(const Run& run, Counts& counts) {
  std::vector<camera::PastDropout> past;
  for (const LivedDropout& dropout : run.dropouts) {
    const auto evidence = camera::read_evidence(dropout.seen);
    const auto pattern = camera::find_pattern(evidence, dropout.seen.began_wall, past);
    camera::Ranking ranking;
    ranking.restarted = camera::has_restarted(evidence);
    past.push_back(camera::to_past(dropout.seen.began_wall, evidence, ranking));
    const auto clues = camera::clues_of(evidence, pattern);
    for (std::size_t clue = 0; clue < kClues; ++clue)
      ++counts[clue][clues[clue]][static_cast<std::size_t>(dropout.kind)];
  }
}

// Faults do not keep to the ranges of the runs: some of what was seen of each of the values first to last is
// given to those beside it.
void blur(std::array<camera::KindShares, kMostValues>& rows, std::size_t first, std::size_t last) {
  constexpr double kGiven = 0.2;
  const auto sharp = rows;
  for (std::size_t value = first; value <= last; ++value) {
    for (const std::size_t beside : {value - 1, value + 1}) {
      if (beside < first || beside > last) continue;
      for (std::size_t kind = 0; kind < kKinds; ++kind)
        rows[value][kind] += kGiven * (sharp[beside][kind] - sharp[value][kind]);
    }
  }
}

void print_clue(const std::array<camera::KindShares, kMostValues>& rows, std::size_t values) {
  constexpr double kBegun = 0.5;  // dropouts of each value before any was seen: nothing is impossible
  fmt::print("    {{{{\n");
  for (std::size_t value = 1; value <= values; ++value) {
    fmt::print("        {{");
    for (std::size_t kind = 0; kind < kKinds; ++kind) {
      double sum = kBegun * static_cast<double>(values);
      for (std::size_t other = 1; other <= values; ++other) sum += rows[other][kind];
      const double percent = 100 * (rows[value][kind] + kBegun) / sum;
      fmt::print("{}{}", kind == 0 ? "" : ", ", std::max(2, static_cast<int>(std::lround(percent))));
    }
    fmt::print("}},\n");
  }
  fmt::print("    }}}},\n");
}

void fit() {
  Counts counts{};
  for (int n = 0; n < kFitted; ++n) add_counts(run_of(n, 1'000'000, false, false), counts);
  for (int n = 0; n < kFitted / 3; ++n) add_counts(run_of(n, 2'000'000, false, true), counts);
  blur(counts[static_cast<std::size_t>(Clue::length)], 1, 4);
  blur(counts[static_cast<std::size_t>(Clue::booted)], 1, 2);
  for (std::size_t clue = 0; clue < kClues; ++clue) {
    if (static_cast<Clue>(clue) == Clue::announced) continue;  // no run has it: by hand
    print_clue(counts[clue], camera::kValues[clue]);
  }
}

void measure_speed() {
  std::vector<Run> runs;
  for (int n = 0; n < 28; ++n) runs.push_back(run_of(n, 1, false, false));
  std::size_t many = 0;
  const auto began = std::chrono::steady_clock::now();
  for (int n = 0; n < 20; ++n)
    for (const Run& run : runs) many += 2 * judge(run).size();
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
  bool develop = false;
  int show = 0;
  int most = kTrained;
  for (int n = 1; n < argc; ++n) {
    if (std::strcmp(argv[n], "--held-out") == 0) held_out = true;
    if (std::strcmp(argv[n], "--develop") == 0) develop = true;
    if (std::strcmp(argv[n], "--show") == 0 && n + 1 < argc) show = std::atoi(argv[n + 1]);
    if (std::strcmp(argv[n], "--runs") == 0 && n + 1 < argc) most = std::atoi(argv[n + 1]);
    if (std::strcmp(argv[n], "--fit") == 0) return fit(), 0;
    if (std::strcmp(argv[n], "--speed") == 0) return measure_speed(), 0;
  }
  const std::uint64_t seeds =
      develop ? (held_out ? 70'000'000 : 20'000'000) : (held_out ? 90'000'000 : 30'000'000);
  const std::string where = held_out ? "Parameters outside the range" : "Parameters within the range";
  Tally faulty, faulty_again, healthy, healthy_again;
  int none = 0;
  for (int n = 0; n < std::min(most, held_out ? kHeldOut : kTrained); ++n) {
    const Run run = run_of(n, seeds, held_out, false);
    const auto judged = judge(run);
    count(judged, &Judged::ranking, faulty, show);
    count(judged, &Judged::again, faulty_again, none);
  }
  for (int n = 0; n < std::min(most, kHealthy); ++n) {
    const Run run = run_of(n, seeds + 500'000, held_out, true);
    const auto judged = judge(run);
    count(judged, &Judged::ranking, healthy, show);
    count(judged, &Judged::again, healthy_again, none);
  }
  print(where + ", told when each was over", faulty);
  print(where + ", ranked again when all were over", faulty_again);
  print("Healthy, told when each was over", healthy);
  print("Healthy, ranked again when all were over", healthy_again);
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
