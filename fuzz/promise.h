// What a fuzz target checks: a promise that is broken ends the run and says which.
#pragma once

#include <cstdio>
#include <cstdlib>

namespace rookery::fuzz {

inline void require(bool holds, const char* promise) {
  if (holds) return;
  std::fprintf(stderr, "broken promise: %s\n", promise);
  std::abort();
}

}  // namespace rookery::fuzz
