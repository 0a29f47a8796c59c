#include "archive/whole_file.h"

#include <cerrno>
#include <cstdio>
#include <random>

#include <fcntl.h>
#include <unistd.h>

#include "archive/disk.h"
#include "base/file.h"

namespace rookery::archive {

WholeFile::WholeFile(std::filesystem::path file, Existing existing, std::string where)
    : final_(std::move(file)),
      path_(final_.parent_path() /
            fmt::format(".{}.{:08x}.part", final_.filename().string(), std::random_device{}())),
      existing_(existing),
      where_(fmt::format("{}: {}", final_.string(), where)) {}

WholeFile::~WholeFile() {
  std::error_code ignored;
  std::filesystem::remove(path_, ignored);
}

base::Result<void> WholeFile::make() const {
  const int fd = ::open(path_.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  if (fd < 0) return disk_error(where_, errno);
  ::close(fd);
  return base::ok();
}

base::Result<void> WholeFile::appear() {
  if (auto written = sync_file(); !written) return written;
  if (auto named = give_name(); !named) return named;
  return base::sync_folder(std::filesystem::absolute(final_).parent_path());
}

base::Result<void> WholeFile::sync_file() const {
  const int fd = ::open(path_.c_str(), O_RDONLY | O_CLOEXEC);
  const bool done = fd >= 0 && ::fdatasync(fd) == 0;
  const int code = errno;
  if (fd >= 0) ::close(fd);
  return done ? base::ok() : base::Result<void>(disk_error(where_, code));
}

base::Result<void> WholeFile::give_name() const {
  const unsigned flags = existing_ == Existing::refuse ? RENAME_NOREPLACE : 0;
  if (::renameat2(AT_FDCWD, path_.c_str(), AT_FDCWD, final_.c_str(), flags) == 0) return base::ok();
  // Not every file system knows the flag (NFS, some FUSE).
  if (errno == EINVAL && existing_ == Existing::refuse && ::link(path_.c_str(), final_.c_str()) == 0)
    return base::ok();
  return disk_error(where_, errno);
}

}  // namespace rookery::archive
