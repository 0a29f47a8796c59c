#include "bench/jobs/verdict.h"

#include <ctime>
#include <optional>

#include <fmt/format.h>

#include "bench/jobs/drawn_jobs.h"

namespace rookery::bench {
namespace {

using sim::JobTruth;
using vision::JobReport;
using vision::JobSign;

constexpr double kLateMess = 0.05;  // of the picture

double cpu_seconds() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}

bool is_blind(const JobTruth& truth) { return truth.covered || truth.knocked || truth.unsharp; }

bool is_true(JobSign sign, const JobTruth& truth) {
  switch (sign) {
    case JobSign::finished:
      return truth.finished;
    case JobSign::still:
      return truth.stalled;
    case JobSign::covered:
    case JobSign::knocked:
    case JobSign::unsharp:
      return is_blind(truth);
    case JobSign::loose:
      return truth.detached_since_s || truth.shifted_since_s || truth.mess_share > 0;
  }
  return false;
}

std::optional<JobSign> wanted(Trouble trouble) {
  switch (trouble) {
    case Trouble::none:
    case Trouble::pause:
    case Trouble::spool:
      return JobSign::finished;
    case Trouble::stall:
      return JobSign::still;
    case Trouble::detached:
    case Trouble::mess:
      return JobSign::loose;
    case Trouble::covered:
    case Trouble::knocked:
    case Trouble::unsharp:
      return JobSign::covered;
    default:
      return std::nullopt;
  }
}

// Each of the three says that the camera does not see the job.
bool is_wanted(Trouble trouble, JobSign sign) {
  const auto want = wanted(trouble);
  if (want == JobSign::covered)
    return sign == JobSign::covered || sign == JobSign::knocked || sign == JobSign::unsharp;
  return want == sign;
}

// Whether what is wanted is so at this still.
bool is_due(Trouble trouble, const JobTruth& truth) {
  const auto want = wanted(trouble);
  return want && is_true(*want, truth);
}

}  // namespace

bool is_told(Trouble trouble) { return wanted(trouble).has_value(); }

double limit_s(Trouble trouble) {
  switch (trouble) {
    case Trouble::stall:
      return kStillAfter_s + 2 * kStillEvery_s;
    case Trouble::none:
    case Trouble::pause:
    case Trouble::spool:
      return 120;
    case Trouble::unsharp:
      return 180;
    default:
      return 60;
  }
}

bool is_stop_worthy(JobSign sign) {
  return sign == JobSign::still || sign == JobSign::covered || sign == JobSign::knocked ||
         sign == JobSign::loose;
}

Verdict score(const JobCase& job, const std::filesystem::path& drawn) {
  vision::JobWatchOptions options;
  options.still_every_s = kStillEvery_s;
  options.still_after_s = kStillAfter_s;
  auto watch = vision::JobWatch::make(options);
  Verdict verdict;
  verdict.hours = job.lasts_s / 3600;
  std::optional<double> due_s;
  film_drawn(job, kStillEvery_s, drawn, [&](const JobStill& still) {
    if (!due_s && still.at_s >= job.trouble_at_s && is_due(job.trouble, still.truth)) due_s = still.at_s;
    const double began = cpu_seconds();
    const auto reports = watch->add(still.grid, still.at_s);
    verdict.cpu_s += cpu_seconds() - began;
    ++verdict.stills;
    for (const JobReport& report : reports) {
      verdict.said += fmt::format(" {}{}{}@{:.0f}", report.over ? "no-" : "", vision::name_of(report.sign),
                                  report.sure ? "!" : "", report.at_s);
      if (report.over) continue;
      if (!is_true(report.sign, still.truth)) {
        if (report.sign == JobSign::finished) verdict.finished_too_early = true;
        ++verdict.wrong[report.sign];
        verdict.stop_worthy += is_stop_worthy(report.sign) && report.sure ? 1 : 0;
      } else if (is_wanted(job.trouble, report.sign) && due_s && verdict.after_s < 0) {
        verdict.after_s = report.at_s - *due_s;
        verdict.right = job.trouble == Trouble::mess ? still.truth.mess_share <= kLateMess
                                                     : verdict.after_s <= limit_s(job.trouble);
      }
    }
  });
  return verdict;
}

}  // namespace rookery::bench
