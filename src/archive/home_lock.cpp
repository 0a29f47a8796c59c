#include "archive/home_lock.h"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <utility>

#include <fmt/format.h>

#include "archive/disk.h"

namespace rookery::archive {
namespace {

std::filesystem::path lock_file(const std::filesystem::path& home) { return home / "station.lock"; }

}  // namespace

base::Result<HomeLock> HomeLock::take(const std::filesystem::path& home) {
  const std::filesystem::path file = lock_file(home);
  const int fd = ::open(file.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  if (fd < 0) {
    const int code = errno;
    const auto kind = code == EACCES || code == EROFS ? base::ErrorCode::no_permission
                      : code == ENOSPC                ? base::ErrorCode::disk_full
                                                      : base::ErrorCode::io;
    return base::Error(kind, file.string(), std::strerror(code),
                       "The station needs to write in its home folder.");
  }
  HomeLock lock(fd);
  if (::flock(fd, LOCK_EX | LOCK_NB) != 0) {
    return base::Error(base::ErrorCode::busy, home.string(), "another station is running on this home folder",
                       "Stop it first, or give this one a home of its own with --home.");
  }
  return lock;
}

bool HomeLock::is_taken(const std::filesystem::path& home) { return is_being_written(lock_file(home)); }

HomeLock::HomeLock(HomeLock&& other) noexcept : fd_(std::exchange(other.fd_, -1)) {}

HomeLock& HomeLock::operator=(HomeLock&& other) noexcept {
  std::swap(fd_, other.fd_);
  return *this;
}

HomeLock::~HomeLock() {
  if (fd_ >= 0) ::close(fd_);
}

}  // namespace rookery::archive
