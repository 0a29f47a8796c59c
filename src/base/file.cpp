#include "base/file.h"

#include <cerrno>
#include <cstdio>
#include <system_error>

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <utility>

#include <fmt/format.h>

#include "base/descriptor.h"

namespace rookery::base {
namespace {

std::filesystem::path folder_of(const std::filesystem::path& path) {
  return path.has_parent_path() ? path.parent_path() : std::filesystem::path(".");
}

constexpr std::string_view kTemporaryFront = ".rookery-";
constexpr std::string_view kTemporaryEnd = ".tmp";
// Longer than any writing takes, so that no other process's file is taken from under it.
constexpr auto kStale = std::chrono::hours(1);

// A name beside `path` that no other process or thread uses. Not made of the file's own name, which may be as
// long as names may be.
std::filesystem::path temporary_beside(const std::filesystem::path& path) {
  static std::atomic<unsigned> counter{0};
  return folder_of(path) / fmt::format("{}{}-{}{}", kTemporaryFront, ::getpid(), counter++, kTemporaryEnd);
}

// ".rookery-4711-0.tmp"
bool is_temporary_name(std::string_view name) {
  if (!name.starts_with(kTemporaryFront) || !name.ends_with(kTemporaryEnd)) return false;
  if (name.size() < kTemporaryFront.size() + kTemporaryEnd.size() + 3) return false;
  name.remove_prefix(kTemporaryFront.size());
  name.remove_suffix(kTemporaryEnd.size());
  return name.find_first_not_of("0123456789-") == std::string_view::npos &&
         std::count(name.begin(), name.end(), '-') == 1;
}

// What a killed program left behind may hold a network's key. Whatever cannot be removed stays: this is no
// part of what was asked for.
void remove_stale(const std::filesystem::path& folder) {
  std::error_code failure;
  const auto now = std::chrono::system_clock::now().time_since_epoch();
  for (auto at = std::filesystem::directory_iterator(folder, failure);
       !failure && at != std::filesystem::directory_iterator(); at.increment(failure)) {
    const std::filesystem::path& path = at->path();
    struct stat status {};
    if (!is_temporary_name(path.filename().string()) || ::lstat(path.c_str(), &status) != 0) continue;
    const bool ours = S_ISREG(status.st_mode) && status.st_uid == ::geteuid();
    if (ours && now - std::chrono::seconds(status.st_mtim.tv_sec) > kStale) ::unlink(path.c_str());
  }
}

// Writes `content` to `temporary` and syncs it; errors name `path`, which is what a person asked for.
Result<void> write_temporary(const std::filesystem::path& temporary, const std::filesystem::path& path,
                             std::string_view content, unsigned mode) {
  const Descriptor file(
      ::open(temporary.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, static_cast<mode_t>(mode)));
  if (!file) return file_error(errno, "make file", path);
  Result<void> written = write_all(file.get(), content, path);
  if (written && ::fsync(file.get()) != 0) written = file_error(errno, "sync file", path);
  if (!written) ::unlink(temporary.c_str());
  return written;
}

}  // namespace

Error file_error(int error_number, std::string where, const std::filesystem::path& path) {
  const std::string reason = std::generic_category().message(error_number);
  const std::string detail = fmt::format("{}: {}", path.string(), reason);
  switch (error_number) {
    case ENOENT:
      return {ErrorCode::not_found, std::move(where), detail, "Check the path."};
    case EEXIST:
      return {ErrorCode::already_exists, std::move(where), detail,
              "Move the old one away or use another name."};
    case EACCES:
    case EPERM:
      return {ErrorCode::no_permission, std::move(where), detail,
              fmt::format("Let the user that runs rookery (number {}) read and write there.", ::geteuid())};
    case EROFS:
      return {ErrorCode::no_permission, std::move(where), detail,
              "The disk is mounted read-only: mount it writable, or use another folder."};
    case ENOSPC:
    case EDQUOT:
      return {ErrorCode::disk_full, std::move(where), detail, "Free some space on that disk."};
    case ENOTDIR:
      return {ErrorCode::invalid_value, std::move(where), detail,
              "Something in this path is a file, where a folder is needed."};
    case EISDIR:
      return {ErrorCode::invalid_value, std::move(where), detail,
              "Name a file in it, not the folder itself."};
    case ENXIO:
      return {ErrorCode::invalid_value, std::move(where), detail,
              "Name a file: that one cannot be opened like it."};
    case ENAMETOOLONG:
      return {ErrorCode::invalid_value, std::move(where), detail, "Choose a shorter name."};
    case ELOOP:
      return {ErrorCode::invalid_value, std::move(where), detail,
              "Links lead round in a circle there: name the file itself."};
    default:
      return {ErrorCode::io, std::move(where), detail, "Check the disk and its cable; see the system log."};
  }
}

Result<StagedFile> StagedFile::write(std::filesystem::path path, std::string_view content, unsigned mode) {
  remove_stale(folder_of(path));
  std::filesystem::path temporary = temporary_beside(path);
  if (auto written = write_temporary(temporary, path, content, mode); !written) return written.error();
  return StagedFile(std::move(path), std::move(temporary));
}

StagedFile::StagedFile(StagedFile&& other) noexcept
    : path_(std::move(other.path_)), temporary_(std::exchange(other.temporary_, {})) {}

StagedFile::~StagedFile() {
  if (!temporary_.empty()) ::unlink(temporary_.c_str());
}

Result<void> StagedFile::replace() & {
  if (::rename(temporary_.c_str(), path_.c_str()) != 0) return file_error(errno, "rename file", path_);
  temporary_.clear();
  return sync_folder(folder_of(path_));
}

Result<void> StagedFile::create() & {
  // link() fails when the name is taken, where rename() would replace.
  if (::link(temporary_.c_str(), path_.c_str()) != 0) return file_error(errno, "make file", path_);
  ::unlink(temporary_.c_str());
  temporary_.clear();
  return sync_folder(folder_of(path_));
}

Result<void> write_durably(const std::filesystem::path& path, std::string_view content, unsigned mode) {
  auto staged = StagedFile::write(path, content, mode);
  if (!staged) return staged.error();
  return staged->replace();
}

Result<void> create_durably(const std::filesystem::path& path, std::string_view content, unsigned mode) {
  auto staged = StagedFile::write(path, content, mode);
  if (!staged) return staged.error();
  return staged->create();
}

Result<void> write_all(int descriptor, std::string_view content, const std::filesystem::path& path) {
  while (!content.empty()) {
    const ssize_t written = ::write(descriptor, content.data(), content.size());
    if (written < 0) {
      if (errno == EINTR) continue;
      return file_error(errno, "write", path);
    }
    content.remove_prefix(static_cast<std::size_t>(written));
  }
  return ok();
}

Result<void> sync_folder(const std::filesystem::path& folder) {
  const Descriptor opened(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (!opened) return file_error(errno, "open folder", folder);
  if (::fsync(opened.get()) != 0) return file_error(errno, "sync folder", folder);
  return ok();
}

Result<std::string> read_file(const std::filesystem::path& path, std::size_t most_bytes) {
  const Descriptor file(::open(path.c_str(), O_RDONLY | O_CLOEXEC));
  if (!file) return file_error(errno, "open file", path);
  std::string content;
  char block[4096];
  while (true) {
    const ssize_t got = ::read(file.get(), block, sizeof block);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return file_error(errno, "read file", path);
    if (got == 0) return content;
    content.append(block, static_cast<std::size_t>(got));
    if (content.size() > most_bytes) {
      return Error(ErrorCode::too_large, "read file",
                   fmt::format("{} holds more than {} bytes", path.string(), most_bytes),
                   "This is not the file that was expected there.");
    }
  }
}

Result<void> make_folder(const std::filesystem::path& folder, unsigned mode) {
  std::error_code failure;
  if (std::filesystem::is_directory(folder, failure)) return ok();
  const std::filesystem::path above = folder_of(folder);
  if (above != folder && !std::filesystem::exists(above, failure)) {
    if (auto made = make_folder(above, mode); !made) return made;
  }
  if (::mkdir(folder.c_str(), static_cast<mode_t>(mode)) == 0) return ok();
  const int error_number = errno;
  if (error_number == EEXIST) {
    if (std::filesystem::is_directory(folder, failure)) return ok();
    return file_error(ENOTDIR, "make folder", folder);
  }
  return file_error(error_number, "make folder", folder);
}

}  // namespace rookery::base
