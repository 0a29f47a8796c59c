// What a watch said of a job, held against the truth.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "bench/jobs/job_case.h"
#include "vision/job_watch.h"

namespace rookery::bench {

inline constexpr double kStillEvery_s = 5;
inline constexpr double kStillAfter_s = 600;

struct Verdict {
  bool right = false;   // what the job is there to show was said in time
  double after_s = -1;  // … so long after it began to be so; below 0: never
  double hours = 0;
  double cpu_s = 0;
  std::size_t stills = 0;
  bool finished_too_early = false;       // said while it worked or paused, taken back or not
  std::map<vision::JobSign, int> wrong;  // reports that are no truth
  int stop_worthy = 0;                   // … of those that may stop a machine
  std::string said;
};

// Whether a sign is to be told of it in time; else only what is said falsely counts.
bool is_told(Trouble trouble);
// At most so long after it began to be so, seconds.
double limit_s(Trouble trouble);
bool is_stop_worthy(vision::JobSign sign);

// `drawn`: as film_drawn takes it. Throws what is wrong with the case or the folder.
Verdict score(const JobCase& job, const std::filesystem::path& drawn);

}  // namespace rookery::bench
