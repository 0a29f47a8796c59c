#include "base/file.h"

#include <cerrno>
#include <cstdio>
#include <system_error>

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <atomic>

#include <fmt/format.h>

#include "base/descriptor.h"

namespace rookery::base {
namespace {

std::filesystem::path folder_of(const std::filesystem::path& path) {
  return path.has_parent_path() ? path.parent_path() : std::filesystem::path(".");
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

// A name beside `path` that no other process or thread uses.
std::filesystem::path temporary_beside(const std::filesystem::path& path) {
  static std::atomic<unsigned> counter{0};
  return std::filesystem::path(fmt::format("{}.tmp-{}-{}", path.string(), ::getpid(), counter++));
}

// Writes `content` under a temporary name and syncs it; the caller gives it its real name.
Result<std::filesystem::path> write_temporary(const std::filesystem::path& path, std::string_view content,
                                              unsigned mode) {
  const std::filesystem::path temporary = temporary_beside(path);
  const Descriptor file(
      ::open(temporary.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, static_cast<mode_t>(mode)));
  if (!file) return file_error(errno, "make file", temporary);
  Result<void> written = write_all(file.get(), content, temporary);
  if (written && ::fsync(file.get()) != 0) written = file_error(errno, "sync file", temporary);
  if (!written) {
    ::unlink(temporary.c_str());
    return written.error();
  }
  return temporary;
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
    default:
      return {ErrorCode::io, std::move(where), detail, "Check the disk and its cable; see the system log."};
  }
}

Result<void> write_durably(const std::filesystem::path& path, std::string_view content, unsigned mode) {
  const auto temporary = write_temporary(path, content, mode);
  if (!temporary) return temporary.error();
  if (::rename(temporary->c_str(), path.c_str()) != 0) {
    const int error_number = errno;
    ::unlink(temporary->c_str());
    return file_error(error_number, "rename file", path);
  }
  return sync_folder(folder_of(path));
}

Result<void> create_durably(const std::filesystem::path& path, std::string_view content, unsigned mode) {
  const auto temporary = write_temporary(path, content, mode);
  if (!temporary) return temporary.error();
  // link() fails when the name is taken, where rename() would replace.
  const int linked = ::link(temporary->c_str(), path.c_str());
  const int error_number = errno;
  ::unlink(temporary->c_str());
  if (linked != 0) return file_error(error_number, "make file", path);
  return sync_folder(folder_of(path));
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
