// HomeLock: one running station a home folder.
#pragma once

#include <filesystem>

#include "base/result.h"

namespace rookery::archive {

// Holds <home>/station.lock with flock(2); the kernel lets go when the process ends, however it ends.
class HomeLock {
 public:
  // Errors: busy when another station has it, no_permission, io. `home` exists.
  static base::Result<HomeLock> take(const std::filesystem::path& home);
  // Whether a station, of this process or another, has it.
  static bool is_taken(const std::filesystem::path& home);
  HomeLock(HomeLock&& other) noexcept;
  HomeLock& operator=(HomeLock&& other) noexcept;
  ~HomeLock();

 private:
  explicit HomeLock(int fd) : fd_(fd) {}
  int fd_ = -1;
};

}  // namespace rookery::archive
