// What a benchmark counts cycles with: the CPU time of its thread, and the clock of its core.
#pragma once

#include <benchmark/benchmark.h>

#include <algorithm>

#include <time.h>

namespace rookery::bench {

// Spent by the calling thread.
inline double cpu_seconds() {
  timespec t{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
}

// The core's clock, from a chain of additions of one cycle each. Takes some 20 ms.
inline double measure_hz() {
  constexpr int kAdditions = 20'000'000;
  double best = 0;
  for (int run = 0; run < 3; ++run) {
    const double began = cpu_seconds();
    unsigned long sum = 0;
    for (int i = 0; i < kAdditions; ++i) {
      sum += 1;
      benchmark::DoNotOptimize(sum);
    }
    best = std::max(best, kAdditions / (cpu_seconds() - began));
  }
  return best;
}

}  // namespace rookery::bench
