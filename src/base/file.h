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

// Replaces `path` with `content`: temporary name in the same folder, fsync, rename, fsync of the folder.
// Returns ok only when it is on disk; after a failure the old content still stands. `mode` is octal
// permissions. Errors: disk_full, no_permission, not_found (no such folder), io.
Result<void> write_durably(const std::filesystem::path& path, std::string_view content, unsigned mode = 0600);

// Like write_durably, but never replaces: already_exists when there is one, also when two make it at once.
Result<void> create_durably(const std::filesystem::path& path, std::string_view content,
                            unsigned mode = 0600);

// Makes names that were made, renamed or removed in `folder` durable.
Result<void> sync_folder(const std::filesystem::path& folder);

// The whole content. Errors: not_found, no_permission, too_large (more than `most_bytes`), io.
Result<std::string> read_file(const std::filesystem::path& path, std::size_t most_bytes);

// Makes `folder`, and what is missing above it, with `mode`; nothing when it is there already.
// Errors: no_permission, disk_full, invalid_value (something on the way is a file), io.
Result<void> make_folder(const std::filesystem::path& folder, unsigned mode = 0700);

}  // namespace rookery::base
