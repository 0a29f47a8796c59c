// Inner: makes one segment that a crash left behind whole again, in place.
#pragma once

#include <filesystem>

#include "archive/segment_index.h"
#include "base/result.h"

namespace rookery::archive {

// Whether to take the file's lock, by which a segment in work is known.
enum class MendLock {
  take,  // busy when somebody writes it
  held,  // the caller writes it
};

struct MendedFile {
  SegmentIndex index;
  std::uint64_t bytes = 0;      // of the file now
  std::uint64_t bytes_cut = 0;  // taken off its end
};

// Cuts what is no whole cluster off the end (structure and, for the last ones, checksum), then writes length
// and duration into the head where the writer left room for them. Whole clusters are never touched. Errors:
// busy, not_found, no_permission, io; damaged when there is not one whole frame (the file is left as it was).
base::Result<MendedFile> mend_file(const std::filesystem::path& file, MendLock lock);

}  // namespace rookery::archive
