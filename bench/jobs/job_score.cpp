// Scores the watch of jobs against the workshop's truth: seeded printer jobs, a still every 5 s, drawn as
// fast as it goes and made into luma grids as a board's JPEG would give them.
//
//   job_score [--jobs N] [--first SEED] [--held N] [--drawn FOLDER] [--list]
//
// What is right is in verdict.h; docs/job-watch.md has the results. Five hundred jobs are 300 000 stills,
// which take some minutes to draw and 1.5 GB to keep.
#include <atomic>
#include <cstdio>
#include <map>
#include <mutex>
#include <thread>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "bench/jobs/verdict.h"

namespace rookery::bench {
namespace {

using vision::JobSign;

struct Options {
  std::uint64_t jobs = 60;
  std::uint64_t first = 1;
  std::uint64_t held = 0;
  std::string drawn;
  bool list = false;
};

// A case and what was said of it, by "held" and seed.
using All = std::map<std::pair<bool, std::uint64_t>, std::pair<JobCase, Verdict>>;

struct Sum {
  int jobs = 0, right = 0;
  std::vector<double> after_s;
};

void print_all(const All& all) {
  std::map<Trouble, Sum> sums;
  std::map<JobSign, int> wrong;
  double hours = 0, cpu_s = 0;
  std::size_t stills = 0;
  int stop_worthy = 0, early = 0;
  for (const auto& [seed, one] : all) {
    Sum& sum = sums[one.first.trouble];
    ++sum.jobs;
    sum.right += one.second.right ? 1 : 0;
    if (one.second.after_s >= 0) sum.after_s.push_back(one.second.after_s);
    for (const auto& [sign, count] : one.second.wrong) wrong[sign] += count;
    hours += one.second.hours;
    cpu_s += one.second.cpu_s;
    stills += one.second.stills;
    stop_worthy += one.second.stop_worthy;
    early += one.second.finished_too_early ? 1 : 0;
  }
  fmt::print("{:<10} {:>5} {:>6} {:>7} {:>10} {:>8}\n", "", "jobs", "right", "share", "median s", "last s");
  for (auto& [trouble, sum] : sums) {
    std::sort(sum.after_s.begin(), sum.after_s.end());
    if (!is_told(trouble)) {
      fmt::print("{:<10} {:>5}   nothing is told of it\n", name_of(trouble), sum.jobs);
      continue;
    }
    const double middle = sum.after_s.empty() ? 0 : sum.after_s[sum.after_s.size() / 2];
    fmt::print("{:<10} {:>5} {:>6} {:>7.3f} {:>10.0f} {:>8.0f}\n", name_of(trouble), sum.jobs, sum.right,
               static_cast<double>(sum.right) / sum.jobs, middle,
               sum.after_s.empty() ? 0 : sum.after_s.back());
  }
  fmt::print(
      "{:.1f} job hours; finished said too early in {} jobs; {:.0f} µs "
      "of CPU a still\n",
      hours, early, 1e6 * cpu_s / static_cast<double>(std::max<std::size_t>(stills, 1)));
  fmt::print("false and stop-worthy: {} ({:.1f} in 200 hours); false, by sign:", stop_worthy,
             200 * stop_worthy / hours);
  for (const auto& [sign, count] : wrong)
    fmt::print(" {} {} ({:.2f} an hour)", vision::name_of(sign), count, count / hours);
  fmt::print("\n");
}

void print_line(const JobCase& job, const Verdict& verdict) {
  const bool good = (verdict.right || !is_told(job.trouble)) && verdict.wrong.empty();
  fmt::print("{} {}:{}\n", good ? "  " : "! ", job.text(), verdict.said);
  std::fflush(stdout);
}

int run(const Options& options) {
  All all;
  std::mutex mutex;
  std::atomic<std::uint64_t> next{0};
  const auto work = [&] {
    for (std::uint64_t i = next++; i < options.jobs + options.held; i = next++) {
      const bool held = i >= options.jobs;
      const JobCase job = make_case(options.first + (held ? i - options.jobs : i), held);
      Verdict verdict = score(job, options.drawn);
      const std::lock_guard lock(mutex);
      if (options.list) print_line(job, verdict);
      all.emplace(std::pair(held, job.seed), std::pair(job, std::move(verdict)));
    }
  };
  std::thread other(work);
  work();
  other.join();
  print_all(all);
  return 0;
}

}  // namespace
}  // namespace rookery::bench

int main(int count, char** words) {
  using namespace rookery::bench;  // NOLINT(google-build-using-namespace)
  CLI::App app("The watch of jobs against make-believe ones with their truth");
  Options options;
  app.add_option("--jobs", options.jobs, "So many");
  app.add_option("--first", options.first, "From this seed on");
  app.add_option("--held", options.held, "So many more, of shapes and faults that are kept for scoring");
  app.add_option("--drawn", options.drawn, "A folder in which drawn stills are kept, to be scored again");
  app.add_flag("--list", options.list, "A line a job: ! where something is wrong");
  CLI11_PARSE(app, count, words);
  try {
    return run(options);
  } catch (const std::exception& failure) {
    fmt::print(stderr, "{}\n", failure.what());
    return 2;
  }
}
