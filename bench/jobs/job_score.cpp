// Scores the watch of jobs against the workshop's truth: seeded printer jobs, a still every 5 s, drawn as
// fast as it goes and made into luma grids as a board's JPEG would give them.
//
//   job_score [--jobs N] [--first SEED] [--list]
//
// Right, by what goes wrong (docs/job-watch.md has the results):
//   none, pause  `finished` within 120 s of the head's parking. One that was said in a pause and taken back
//   is
//                counted apart.
//   stall        `still` within the set 600 s and two stills, `finished` not standing then
//   detached, mess, dry   nothing is told of these: only what is told falsely counts
//   covered, knocked   either of the two, within 60 s
// False: any other report (also of the right kind before its time). Stop-worthy are still, covered and
// knocked where the report is sure.
#include <atomic>
#include <cstdio>
#include <ctime>
#include <map>
#include <mutex>
#include <thread>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "bench/jobs/job_case.h"
#include "vision/job_watch.h"

namespace rookery::bench {
namespace {

using vision::JobReport;
using vision::JobSign;

constexpr double kEvery_s = 5;
constexpr double kStillAfter_s = 600;

struct Options {
  std::uint64_t jobs = 60;
  std::uint64_t first = 1;
  bool list = false;
};

struct Verdict {
  bool right = false;
  double after_s = -1;
  double hours = 0;
  double cpu_s = 0;
  std::size_t stills = 0;
  bool finished_too_early = false;  // said while it worked or paused, and taken back or not
  std::map<JobSign, int> wrong;     // reports that are no truth
  int stop_worthy = 0;              // … of those that may stop a machine
  std::string said;
};

double cpu_seconds() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}

bool is_stop_worthy(JobSign sign) {
  return sign == JobSign::still || sign == JobSign::covered || sign == JobSign::knocked;
}

bool is_told(Trouble trouble) {
  return trouble != Trouble::detached && trouble != Trouble::mess && trouble != Trouble::dry;
}

// What the job's trouble may be told as.
bool is_truth(const JobCase& job, const JobReport& report) {
  if (report.sign == JobSign::finished) {
    // A part that came off, or did not grow, is printed to the end all the same.
    return job.trouble != Trouble::stall && report.at_s >= job.ends_s;
  }
  if (report.at_s < job.trouble_at_s) return false;
  switch (job.trouble) {
    case Trouble::stall:
      return report.sign == JobSign::still;
    case Trouble::covered:
    case Trouble::knocked:
      return report.sign != JobSign::still;
    default:
      return false;
  }
}

// Whether this report is the one that the job is there for.
bool is_wanted(const JobCase& job, const JobReport& report) {
  switch (job.trouble) {
    case Trouble::none:
    case Trouble::pause:
      return report.sign == JobSign::finished && report.at_s >= job.ends_s;
    case Trouble::stall:
      return report.sign == JobSign::still;
    case Trouble::covered:
    case Trouble::knocked:
      return report.sign == JobSign::covered || report.sign == JobSign::knocked;
    default:
      return false;
  }
}

double limit_s(const JobCase& job) {
  if (job.trouble == Trouble::stall) return kStillAfter_s + 2 * kEvery_s;
  return job.trouble == Trouble::none || job.trouble == Trouble::pause ? 120 : 60;
}

Verdict score(const JobCase& job) {
  vision::JobWatchOptions options;
  options.still_every_s = kEvery_s;
  options.still_after_s = kStillAfter_s;
  auto watch = vision::JobWatch::make(options);
  Verdict verdict;
  verdict.hours = job.lasts_s / 3600;
  const double due_s =
      job.trouble == Trouble::none || job.trouble == Trouble::pause ? job.ends_s : job.trouble_at_s;
  film_case(job, kEvery_s, [&](const jpeg::LumaGrid& grid, double at_s) {
    const double began = cpu_seconds();
    const auto reports = watch->add(grid, at_s);
    verdict.cpu_s += cpu_seconds() - began;
    ++verdict.stills;
    for (const JobReport& report : reports) {
      verdict.said += fmt::format(" {}{}{}@{:.0f}", report.over ? "no-" : "", vision::name_of(report.sign),
                                  report.sure ? "!" : "", report.at_s);
      if (report.over) continue;
      if (report.sign == JobSign::finished && report.at_s < job.ends_s) verdict.finished_too_early = true;
      if (!is_truth(job, report)) {
        ++verdict.wrong[report.sign];
        verdict.stop_worthy += is_stop_worthy(report.sign) && report.sure ? 1 : 0;
      } else if (is_wanted(job, report) && verdict.after_s < 0) {
        verdict.after_s = report.at_s - due_s;
        verdict.right = verdict.after_s <= limit_s(job);
      }
    }
  });
  return verdict;
}

struct Sum {
  int jobs = 0, right = 0;
  std::vector<double> after_s;
};

void print_all(const std::map<std::uint64_t, std::pair<JobCase, Verdict>>& all) {
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
  fmt::print("{:.1f} job hours; finished said too early in {} jobs; {:.0f} µs of CPU a still\n", hours, early,
             1e6 * cpu_s / static_cast<double>(std::max<std::size_t>(stills, 1)));
  fmt::print("false and stop-worthy: {} ({:.1f} in 200 hours); false, by sign:", stop_worthy,
             200 * stop_worthy / hours);
  for (const auto& [sign, count] : wrong)
    fmt::print(" {} {} ({:.2f} an hour)", vision::name_of(sign), count, count / hours);
  fmt::print("\n");
}

int run(const Options& options) {
  std::map<std::uint64_t, std::pair<JobCase, Verdict>> all;
  std::mutex mutex;
  std::atomic<std::uint64_t> next{options.first};
  const auto work = [&] {
    for (std::uint64_t seed = next++; seed < options.first + options.jobs; seed = next++) {
      const JobCase job = make_case(seed);
      Verdict verdict = score(job);
      const std::lock_guard lock(mutex);
      if (options.list) {
        fmt::print("{} {}:{}\n",
                   (verdict.right || !is_told(job.trouble)) && verdict.wrong.empty() ? "  " : "! ",
                   job.text(), verdict.said);
        std::fflush(stdout);
      }
      all.emplace(seed, std::pair(job, std::move(verdict)));
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
  app.add_flag("--list", options.list, "A line a job: ! where something is wrong");
  CLI11_PARSE(app, count, words);
  try {
    return run(options);
  } catch (const std::exception& failure) {
    fmt::print(stderr, "{}\n", failure.what());
    return 2;
  }
}
