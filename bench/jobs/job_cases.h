// The 500 jobs that a watch is scored on: which machine makes what in which light, and what happens. Case
// number and code decide all of it.
#pragma once

#include <string>

#include "sim/scene.h"

namespace rookery::bench {

inline constexpr int kOpenCases = 350;
inline constexpr int kAllCases = 500;  // 350 to 499 are held out: shapes, ways of coming off and looks of a
                                       // mess that sim/printed_object.h and sim/print_job.h keep for scoring

struct JobCase {
  int number = 0;
  std::string scene;
  std::uint64_t seed = 0;
  sim::PrintJob job;
  double work_s = 0;  // without pauses
  double ends_s = 0;  // of the film, scene time; never in mid-job but for a stall for ever
  std::string story;  // in short: "bobbin vase came-off/tips@1203"
};
// 0 ≤ number < kAllCases.
JobCase job_case(int number);

}  // namespace rookery::bench
