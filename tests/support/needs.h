// What a test needs of the machine. Without it the test skips and says why; where all was installed for it
// (ROOKERY_ALL_THERE is set, as by ./test) it fails, so that nothing is left out unseen.
#pragma once

#include <cstdlib>
#include <string>

#include <gtest/gtest.h>

#include "tests/support/program.h"

namespace rookery::support {

inline bool must_be_there() { return std::getenv("ROOKERY_ALL_THERE") != nullptr; }

// First lines of a test, or of SetUp. `missing` says what is not there.
#define ROOKERY_NEEDS(there, missing)                             \
  if (!(there)) {                                                 \
    if (::rookery::support::must_be_there()) FAIL() << (missing); \
    GTEST_SKIP() << (missing);                                    \
  }                                                               \
  static_assert(true)

// What no package brings: rights, or an ability of the running kernel. Without it the test skips, wherever it
// runs.
#define ROOKERY_NEEDS_OF_KERNEL(there, missing) \
  if (!(there)) GTEST_SKIP() << (missing);      \
  static_assert(true)

// A program on the PATH, and the Debian package that brings it.
#define ROOKERY_NEEDS_PROGRAM(name, package)        \
  ROOKERY_NEEDS(::rookery::test::has_program(name), \
                std::string(name) + " is not installed (Debian package " + (package) + ")")

}  // namespace rookery::support
