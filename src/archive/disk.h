// The disk behind one small interface, so that tests can make it full, slow or broken.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <span>

#include "base/result.h"

namespace rookery::archive {

// A file that is being written. Holds an exclusive lock (flock) while it lives, by which other processes tell
// a segment in work from one that a crash left open. One user at a time, but sync() is any-thread.
class DiskFile {
 public:
  virtual ~DiskFile() = default;
  // All of `bytes` at `offset`. Errors: disk_full, io; part of the bytes may then stand in the file.
  virtual base::Result<void> write_at(std::uint64_t offset, std::span<const std::byte> bytes) = 0;
  virtual base::Result<void> truncate(std::uint64_t size) = 0;
  // Returns when what was written is on the medium (fdatasync).
  virtual base::Result<void> sync() = 0;
};

struct DiskSpace {
  std::uint64_t free_bytes = 0;   // for us, without what is reserved for root
  std::uint64_t total_bytes = 0;  // of the whole file system
};

// any-thread.
class Disk {
 public:
  virtual ~Disk() = default;
  // A new, empty, locked file; makes missing folders. Errors: already_exists, no_permission, disk_full, io.
  virtual base::Result<std::unique_ptr<DiskFile>> create(const std::filesystem::path& file) = 0;
  // Errors: not_found, no_permission, io.
  virtual base::Result<void> remove(const std::filesystem::path& file) = 0;
  // Of the file system that holds `folder`. Errors: io.
  virtual base::Result<DiskSpace> space(const std::filesystem::path& folder) = 0;
  // Makes the names of files made in `folder`, and its own, durable.
  virtual base::Result<void> sync_folder(const std::filesystem::path& folder) = 0;
  // Like sync() on every file of the file system that holds `folder`, in one go (syncfs).
  virtual base::Result<void> sync_all(const std::filesystem::path& folder) = 0;
};

// The computer's own. any-thread.
Disk& real_disk();

// Whether a DiskFile for it lives, in this process or another.
bool is_being_written(const std::filesystem::path& file);

// An Error from errno, its code chosen after the kind (ENOSPC and EDQUOT: disk_full, …), its text from the
// system, its remedy in clear words.
base::Error disk_error(std::string where, int error_number);

}  // namespace rookery::archive
