// Scores the job watch (vision/job_watch.h) on seeded print jobs against the workshop's truth.
//
//   job_score [--jobs N] [--first K] [--held-out] [--list] [--pictures FOLDER] [--keep FOLDER] [--threads T]
//
// 350 open jobs, numbers 0 to 349, and 150 held-out ones, 350 to 499, which are run (instead) only with
// --held-out. A job is half an hour to an hour and a half long with its rest, seen every 5 s. What is due,
// right, late, missed and false is said in bench/jobs/job_marks.h, word for word.
//
// --list tells of each job what went other than wanted; --pictures writes a picture of each of these moments
// and of one before it. --keep keeps the grids, for runs after the first.
#include <atomic>
#include <cstdio>
#include <ctime>
#include <exception>
#include <filesystem>
#include <thread>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "bench/jobs/job_stills.h"

namespace rookery::bench {
namespace {

constexpr double kStillAfter = 600;

struct Options {
  int jobs = kAllCases;
  int first = -1;
  bool held_out = false;
  bool list = false;
  int threads = 2;
  std::string pictures;
  std::string keep;
};

struct Outcome {
  JobCase made;
  JobMarks marks;
  std::vector<Told> told;
  double watch_s = 0;  // of CPU
  double sense_s = 0;
  std::size_t watched = 0;
  std::size_t sensed = 0;
};

double cpu_seconds() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}

void write_pictures(const Options& options, Outcome& outcome, JobStills& stills) {
  std::filesystem::create_directories(options.pictures);
  int i = 0;
  for (const JobNote& note : outcome.marks.notes) {
    const auto path = [&](std::string_view when) {
      return fmt::format("{}/job-{:03}-{}-{}.jpg", options.pictures, outcome.made.number, i, when);
    };
    stills.write_picture(note.before_s, path("before"));
    stills.write_picture(note.at_s, path("at"));
    ++i;
  }
}

Outcome run_job(const Options& options, int number) {
  Outcome outcome;
  outcome.made = job_case(number);
  JobStills stills(outcome.made, options.keep);
  auto watch = vision::JobWatch::make({.still_every_s = kStillEvery, .still_after_s = kStillAfter});
  if (!watch) throw std::runtime_error(watch.error().text());
  vision::WorkSense sense;
  std::vector<Begun> begun;
  for (const JobMoment& moment : stills.moments()) {
    const jpeg::LumaGrid& grid = stills.next();
    const double start = cpu_seconds();
    if (const auto set = sense.add(grid, moment.at_s)) begun.push_back({moment.at_s, *set});
    const double sensed = cpu_seconds();
    outcome.sense_s += sensed - start;
    ++outcome.sensed;
    if (moment.at_s < 0) continue;
    for (const vision::JobReport& report : watch->add(grid, moment.at_s))
      outcome.told.push_back({report, moment.at_s});
    outcome.watch_s += cpu_seconds() - sensed;
    ++outcome.watched;
  }
  outcome.marks = mark_job(stills.moments(), outcome.told, begun, kStillAfter);
  if (!options.pictures.empty()) write_pictures(options, outcome, stills);
  return outcome;
}

std::vector<Outcome> run_all(const Options& options) {
  const int low = options.held_out ? kOpenCases : 0;
  const int end = options.held_out ? kAllCases : kOpenCases;
  const int first = options.first < 0 ? low : std::max(low, options.first);
  const int count = std::clamp(end - first, 0, options.jobs);
  std::vector<Outcome> outcomes(static_cast<std::size_t>(count));
  std::atomic<int> next{0};
  std::exception_ptr failed;
  std::atomic<bool> stop{false};
  const auto work = [&] {
    for (int i = next++; i < count && !stop; i = next++) {
      try {
        outcomes[static_cast<std::size_t>(i)] = run_job(options, first + i);
      } catch (...) {
        if (!stop.exchange(true)) failed = std::current_exception();
      }
    }
  };
  {
    std::vector<std::jthread> threads;
    for (int i = 0; i < options.threads; ++i) threads.emplace_back(work);
  }
  if (failed) std::rethrow_exception(failed);
  return outcomes;
}

void list(const Outcome& outcome) {
  if (outcome.marks.notes.empty()) return;
  fmt::print("{:03} {}, {:.0f} s of work\n", outcome.made.number, outcome.made.story, outcome.made.work_s);
  for (const JobNote& note : outcome.marks.notes) fmt::print("      {}\n", note.text);
}

double share(int part, int of) { return static_cast<double>(part) / of; }

void row(std::string_view name, const SignMarks& m, double clean_hours, std::string_view wanted) {
  const std::string right = m.due == 0 ? "-" : fmt::format("{:.1f} %", 100 * share(m.right, m.due));
  fmt::print("{:<22} {:>4} {:>5} {:>5} {:>6} {:>8} {:<8} {:>5} {:>5} {:>6} {:>7} {:>10.3f}\n", name, m.due,
             m.right, m.late, m.missed, right, wanted, m.wrong, m.taken_back, m.beside, m.dropped,
             m.wrong / std::max(1e-9, clean_hours));
}

void table(const std::vector<Outcome>& outcomes) {
  JobMarks all;
  double watch_s = 0;
  double sense_s = 0;
  std::size_t watched = 0;
  std::size_t sensed = 0;
  for (const Outcome& outcome : outcomes) {
    all.add(outcome.marks);
    watch_s += outcome.watch_s;
    sense_s += outcome.sense_s;
    watched += outcome.watched;
    sensed += outcome.sensed;
  }
  fmt::print("{:<22} {:>4} {:>5} {:>5} {:>6} {:>8} {:<8} {:>5} {:>5} {:>6} {:>7} {:>10}\n", "", "due",
             "right", "late", "missed", "right", "wanted", "false", "back", "beside", "dropped", "false/h");
  using enum vision::JobSign;
  const auto of = [&](vision::JobSign sign) { return all.signs[static_cast<std::size_t>(sign)]; };
  row("detached in 60 s", of(detached), all.clean_hours, ">= 95 %");
  row("mess before 5 %", of(mess), all.clean_hours, ">= 80 %");
  row("finished in 120 s", of(finished), all.clean_hours, ">= 98 %");
  row("  after a fault", all.finished_after_fault, all.clean_hours, "");
  row("still in time", of(still), all.clean_hours, ">= 98 %");
  row("knocked in 60 s", of(knocked), all.clean_hours, "");
  row("covered in 60 s", of(covered), all.clean_hours, "");
  row("unsharp in 120 s", of(unsharp), all.clean_hours, "");
  row("not growing in 20 min", of(not_growing), all.clean_hours, "");
  row("shifted in 20 min", of(shifted), all.clean_hours, "");
  fmt::print("false stop-worthy: {} in {:.1f} clean of {:.1f} job-hours, {:.2f} in 200 (wanted <= 1)\n",
             all.false_stops(), all.clean_hours, all.hours,
             200 * all.false_stops() / std::max(1e-9, all.clean_hours));
  fmt::print("start of work: {} of {} right, {} false\n", all.begun_right, all.begun_due, all.begun_wrong);
  fmt::print("CPU: {:.1f} us a still of JobWatch::add, {:.1f} of WorkSense::add; {} jobs, {} stills\n",
             1e6 * watch_s / static_cast<double>(std::max<std::size_t>(1, watched)),
             1e6 * sense_s / static_cast<double>(std::max<std::size_t>(1, sensed)), outcomes.size(), sensed);
}

}  // namespace
}  // namespace rookery::bench

int main(int argc, char** argv) {
  rookery::bench::Options options;
  CLI::App app{"Scores the job watch against the workshop's truth"};
  app.add_option("--jobs", options.jobs, "At most so many")->check(CLI::PositiveNumber);
  app.add_option("--first", options.first, "Number of the first")->check(CLI::NonNegativeNumber);
  app.add_flag("--held-out", options.held_out, "The held-out jobs instead");
  app.add_flag("--list", options.list, "With what went other than wanted");
  app.add_option("--threads", options.threads)->check(CLI::Range(1, 16));
  app.add_option("--pictures", options.pictures, "Folder for pictures of it");
  app.add_option("--keep", options.keep, "Folder that keeps the grids, some 1.5 GB for all");
  CLI11_PARSE(app, argc, argv);
  try {
    const auto outcomes = rookery::bench::run_all(options);
    if (options.list) {
      for (const auto& outcome : outcomes) rookery::bench::list(outcome);
    }
    rookery::bench::table(outcomes);
  } catch (const std::exception& error) {
    std::fprintf(stderr, "%s\n", error.what());
    return 1;
  }
  return 0;
}
