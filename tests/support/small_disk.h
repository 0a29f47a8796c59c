// A disk of a fixed size (tmpfs), for what happens when it is full. Root mounts it as it is; others run the
// test again in a child process with user and mount namespaces of its own, where the kernel allows that.
#pragma once

#include <cstddef>
#include <filesystem>
#include <string>

#include <gtest/gtest.h>

#include "tests/support/home_folder.h"
#include "tests/support/needs.h"

namespace rookery::support {

class SmallDisk {
 public:
  explicit SmallDisk(std::size_t bytes);
  ~SmallDisk();
  SmallDisk(const SmallDisk&) = delete;
  SmallDisk& operator=(const SmallDisk&) = delete;

  bool mounted() const { return refusal_.empty(); }
  const std::string& refusal() const& { return refusal_; }
  const std::filesystem::path& path() const& { return folder_.path(); }

  // Takes all the room that is left, but for `spare_bytes`; `make_room` gives it back.
  void fill(std::size_t spare_bytes = 0);
  void make_room();

 private:
  std::filesystem::path filler() const { return path() / "filler"; }
  HomeFolder folder_;
  std::string refusal_;
};

// Where the running test can have a small disk.
struct SmallDiskPlace {
  enum class Where {
    here,       // in this process
    elsewhere,  // the test ran in a child process: it is over
    nowhere,
  };
  Where where = Where::nowhere;
  std::string fault;  // elsewhere: how the child failed, empty when it passed; nowhere: why
};

// Finds it, and runs the current test in a child process when only that can have one. With ROOKERY_ALL_THERE
// set `nowhere` is a fault as well.
SmallDiskPlace find_small_disk_place();

// First line of a test that needs a small disk (not of SetUp: the test's body would go on).
#define ROOKERY_NEEDS_SMALL_DISK()                                                              \
  if (const auto place = ::rookery::support::find_small_disk_place();                           \
      place.where != ::rookery::support::SmallDiskPlace::Where::here) {                         \
    const bool elsewhere = place.where == ::rookery::support::SmallDiskPlace::Where::elsewhere; \
    if (elsewhere && place.fault.empty()) return;                                               \
    if (elsewhere) FAIL() << place.fault;                                                       \
    ROOKERY_NEEDS(false, place.fault);                                                          \
  }                                                                                             \
  static_assert(true)

}  // namespace rookery::support
