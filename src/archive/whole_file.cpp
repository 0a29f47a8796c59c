#include "archive/whole_file.h"

#include <cerrno>
#include <cstdio>
#include <random>

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include "archive/disk.h"
#include "base/file.h"

namespace rookery::archive {

namespace {

// Nobody writes to a file that has not changed for so long.
constexpr std::chrono::minutes kStill{10};

// What path_ is made of: the beginning, eight hexadecimal digits, ".part".
bool is_part_of(std::string_view name, std::string_view begin) {
  constexpr std::string_view kEnd = ".part";
  constexpr std::size_t kDigits = 8;
  if (name.size() != begin.size() + kDigits + kEnd.size() || !name.starts_with(begin) ||
      !name.ends_with(kEnd))
    return false;
  const auto digits = name.substr(begin.size(), kDigits);
  return digits.find_first_not_of("0123456789abcdef") == std::string_view::npos;
}

}  // namespace

WholeFile::WholeFile(std::filesystem::path file, Existing existing, std::string where)
    : final_(std::move(file)),
      path_(final_.parent_path() /
            fmt::format(".{}.{:08x}.part", final_.filename().string(), std::random_device{}())),
      existing_(existing),
      where_(fmt::format("{}: {}", final_.string(), where)) {}

WholeFile::~WholeFile() {
  std::error_code ignored;
  std::filesystem::remove(path_, ignored);
  if (lock_ >= 0) ::close(lock_);
}

base::Result<void> WholeFile::make() {
  // First: it would take the new one for an old one before that is locked.
  remove_left_behind();
  lock_ = ::open(path_.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
  if (lock_ < 0) return disk_error(where_, errno);
  // Another process that cleans up at this very moment may hold it: it then goes, and is made anew by the
  // writer. Where the file system knows no locks nothing is taken for left behind either.
  (void)::flock(lock_, LOCK_EX | LOCK_NB);
  return base::ok();
}

// A lock ends with the process that holds it, however that ends. Whoever did not lock its file writes to it.
void WholeFile::remove_left_behind() const {
  const std::string begin = fmt::format(".{}.", final_.filename().string());
  const auto folder = final_.has_parent_path() ? final_.parent_path() : std::filesystem::path(".");
  std::error_code failed;
  for (std::filesystem::directory_iterator it(folder, failed), end; !failed && it != end;
       it.increment(failed)) {
    const std::string name = it->path().filename().string();
    if (!is_part_of(name, begin)) continue;
    std::error_code gone;
    if (it->last_write_time(gone) > std::filesystem::file_time_type::clock::now() - kStill || gone) continue;
    const int fd = ::open(it->path().c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK);
    if (fd < 0) continue;
    if (::flock(fd, LOCK_EX | LOCK_NB) == 0) ::unlink(it->path().c_str());
    ::close(fd);
  }
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
