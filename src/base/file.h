// Small files that must survive a power cut: written whole or not at all, and known to be on disk.
#pragma once

#include <cstddef>
#include <filesystem>
#include <string>
#include <string_view>

#include "base/result.h"

namespace rookery::base {

// An Error for a failed system call: the code that fits `error_number` (an errno value), its text, and a
// remedy a person can follow. `where` says what was being done, `path` with which file.
Error file_error(int error_number, std::string where, const std::filesystem::path& path);

// Content that is on disk under a temporary name beside `path`, and gets its real name in one step. Several
// of them let many files change together: what can fail for want of space or rights has failed before the
// first gets its name. Without a name its destructor removes it. Moved, not copied.
//
// A program that is killed leaves its temporary file (".rookery-PID-N.tmp", with the permissions that the
// file would have had); the next one that is written in that folder an hour later or more removes it.
class StagedFile {
 public:
  // `mode` is octal permissions. Errors: disk_full, no_permission, not_found (no such folder), io.
  static Result<StagedFile> write(std::filesystem::path path, std::string_view content, unsigned mode);
  ~StagedFile();
  StagedFile(StagedFile&& other) noexcept;
  StagedFile& operator=(StagedFile&&) = delete;

  // Takes the place of whatever file is at `path`. Errors: invalid_value (a folder is), io.
  Result<void> replace() &;
  // Only where there is none. Errors: already_exists, also when two make it at once; io.
  Result<void> create() &;

 private:
  StagedFile(std::filesystem::path path, std::filesystem::path temporary)
      : path_(std::move(path)), temporary_(std::move(temporary)) {}

  std::filesystem::path path_;
  std::filesystem::path temporary_;  // empty: it has its name
};

// Replaces `path` with `content`: temporary name in the same folder, fsync, rename, fsync of the folder.
// Returns ok only when it is on disk; after a failure the old content still stands. `mode` is octal
// permissions. Errors: disk_full, no_permission, not_found (no such folder), invalid_value (a folder), io.
Result<void> write_durably(const std::filesystem::path& path, std::string_view content, unsigned mode = 0600);

// Like write_durably, but never replaces: already_exists when there is one, also when two make it at once.
Result<void> create_durably(const std::filesystem::path& path, std::string_view content,
                            unsigned mode = 0600);

// Writes all of `content` to an open descriptor; `path` is what it is, for errors. Errors: disk_full, io.
Result<void> write_all(int descriptor, std::string_view content, const std::filesystem::path& path);

// Makes names that were made, renamed or removed in `folder` durable.
Result<void> sync_folder(const std::filesystem::path& folder);

// The whole content. Errors: not_found, no_permission, invalid_value (a folder), too_large (more than
// `most_bytes`), io.
Result<std::string> read_file(const std::filesystem::path& path, std::size_t most_bytes);

// Makes `folder`, and what is missing above it, with `mode`; nothing when it is there already.
// Errors: no_permission, disk_full, invalid_value (something on the way is a file), io.
Result<void> make_folder(const std::filesystem::path& folder, unsigned mode = 0700);

}  // namespace rookery::base
