#include "archive/disk.h"

#include <cerrno>
#include <cstring>

#include <fcntl.h>
#include <sys/file.h>
#include <sys/statvfs.h>
#include <unistd.h>

#include "base/descriptor.h"

namespace rookery::archive {
namespace {

class RealFile final : public DiskFile {
 public:
  RealFile(base::Descriptor handle, std::string path) : handle_(std::move(handle)), path_(std::move(path)) {}

  base::Result<void> write_at(std::uint64_t offset, std::span<const std::byte> bytes) override {
    while (!bytes.empty()) {
      const ssize_t written = ::pwrite(handle_.get(), bytes.data(), bytes.size(), static_cast<off_t>(offset));
      if (written < 0) {
        if (errno == EINTR) continue;
        return disk_error(path_ + ": write", errno);
      }
      // A short write is how a full disk begins; the next round says why.
      bytes = bytes.subspan(static_cast<std::size_t>(written));
      offset += static_cast<std::uint64_t>(written);
    }
    return base::ok();
  }

  base::Result<void> truncate(std::uint64_t size) override {
    if (::ftruncate(handle_.get(), static_cast<off_t>(size)) != 0)
      return disk_error(path_ + ": cut back", errno);
    return base::ok();
  }

  base::Result<void> sync() override {
    if (::fdatasync(handle_.get()) != 0) return disk_error(path_ + ": flush", errno);
    return base::ok();
  }

 private:
  base::Descriptor handle_;
  std::string path_;
};

class RealDisk final : public Disk {
 public:
  base::Result<std::unique_ptr<DiskFile>> create(const std::filesystem::path& file) override {
    // Made absolute first: a bare file name has no folder that could be made.
    const auto folder = std::filesystem::absolute(file).parent_path();
    std::error_code failed;
    std::filesystem::create_directories(folder, failed);
    if (failed) return disk_error(folder.string() + ": make folder", failed.value());
    base::Descriptor handle{::open(file.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0640)};
    if (!handle) return disk_error(file.string() + ": make file", errno);
    // Waits out a check that looks whether somebody writes this file (is_being_written).
    if (::flock(handle.get(), LOCK_EX) != 0) return disk_error(file.string() + ": lock", errno);
    return std::unique_ptr<DiskFile>(std::make_unique<RealFile>(std::move(handle), file.string()));
  }

  base::Result<void> remove(const std::filesystem::path& file) override {
    if (::unlink(file.c_str()) != 0) return disk_error(file.string() + ": delete", errno);
    return base::ok();
  }

  base::Result<DiskSpace> space(const std::filesystem::path& folder) override {
    struct statvfs answer {};
    if (::statvfs(folder.c_str(), &answer) != 0) return disk_error(folder.string() + ": free space", errno);
    return DiskSpace{std::uint64_t{answer.f_bavail} * answer.f_frsize,
                     std::uint64_t{answer.f_blocks} * answer.f_frsize};
  }

  base::Result<void> sync_folder(const std::filesystem::path& folder) override {
    // A segment's folders (day, camera) may be as new as the segment.
    auto level = folder;
    for (int levels = 0; levels < 3; ++levels, level = level.parent_path()) {
      const base::Descriptor handle{::open(level.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC)};
      if (!handle) return disk_error(level.string() + ": open", errno);
      if (::fsync(handle.get()) != 0) return disk_error(level.string() + ": flush", errno);
    }
    return base::ok();
  }

  base::Result<void> sync_all(const std::filesystem::path& folder) override {
    const base::Descriptor handle{::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC)};
    if (!handle) return disk_error(folder.string() + ": open", errno);
    if (::syncfs(handle.get()) != 0) return disk_error(folder.string() + ": flush", errno);
    return base::ok();
  }
};

}  // namespace

Disk& real_disk() {
  static RealDisk disk;
  return disk;
}

bool is_being_written(const std::filesystem::path& file) {
  const base::Descriptor handle{::open(file.c_str(), O_RDONLY | O_CLOEXEC)};
  return handle && ::flock(handle.get(), LOCK_SH | LOCK_NB) != 0 && errno == EWOULDBLOCK;
}

base::Error disk_error(std::string where, int error_number) {
  using base::ErrorCode;
  ErrorCode code = ErrorCode::io;
  std::string remedy;
  switch (error_number) {
    case ENOSPC:
    case EDQUOT:
      code = ErrorCode::disk_full;
      remedy = "free some space, or let retention remove more";
      break;
    case EACCES:
    case EPERM:
    case EROFS:
      code = ErrorCode::no_permission;
      remedy = "let the user that runs rookery write there";
      break;
    case ENOENT:
      code = ErrorCode::not_found;
      break;
    case EEXIST:
      code = ErrorCode::already_exists;
      break;
    case EWOULDBLOCK:
      code = ErrorCode::busy;
      break;
    case EMFILE:
    case ENFILE:
      remedy = "raise the limit of open files (LimitNOFILE of the service)";
      break;
    case EIO:
      remedy = "look at the disk's health (smartctl) and its cable";
      break;
    default:
      break;
  }
  return {code, std::move(where), std::system_category().message(error_number), std::move(remedy)};
}

}  // namespace rookery::archive
