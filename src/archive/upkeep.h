// Upkeep of the archive: mending after a crash, checking, rebuilding the catalog, retention.
#pragma once

#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "archive/catalog.h"
#include "archive/disk.h"
#include "archive/segment_store.h"

namespace rookery::archive {

struct MendReport {
  std::size_t segments_looked_at = 0;
  std::size_t mended = 0;  // cut back to their last whole cluster, or catalog entry put right
  std::uint64_t bytes_cut = 0;
  std::size_t set_aside = 0;  // not one whole frame: renamed to <file>.damaged, never deleted
};

// At start-up: looks only at segments that the catalog calls open and at files younger than those. Costs
// nothing when the last stop was clean.
base::Result<MendReport> mend(Catalog& catalog);

struct CheckedSegment {
  std::string path;
  std::uint64_t frames = 0;
  std::string fault;  // empty: sound
};
struct CheckReport {
  std::size_t segments = 0;
  std::uint64_t frames = 0;
  std::vector<CheckedSegment> damaged;
};
// Reads every segment through: EBML structure, each frame's JPEG markers, times in order, catalog and disk
// agree (a file without an entry, an entry without a file). `each` is told of every segment (progress);
// returns false to stop. Works beside a running station: a segment that is being written is checked as far as
// it is whole. Errors: damaged when the catalog itself is, and what else it says.
base::Result<CheckReport> check(Catalog& catalog, const std::function<bool(const CheckedSegment&)>& each);

struct RebuildReport {
  std::size_t segments = 0;
  std::uint64_t frames = 0;
  std::size_t cameras = 0;
};
// Makes the catalog's segments and strips anew from the files alone, in one transaction; also when catalog.db
// is missing or damaged (a damaged one is set aside as catalog.db.damaged-<time>, never deleted). Cameras
// without settings get an entry that is disabled (source pushed). Files left open by a crash are mended
// first; one that cannot be read is logged and left where it is. Strips are computed from about one frame a
// second; the health of the hours before is not known any more and reads as live where there is a recording.
// Beside a running station the segments that it is writing keep their entries. Errors: cancelled (`progress`
// returned false; nothing has changed), and what the catalog says.
base::Result<RebuildReport> rebuild(const std::filesystem::path& home,
                                    const std::function<bool(double)>& progress);

struct RetentionReport {
  std::size_t removed = 0;
  std::uint64_t bytes = 0;
};
// One round: by age and bytes of each camera, then oldest first until `keep_free_bytes` of the disk are free.
// Never a kept segment (in the catalog, or by a mark beside its file), never an open one. Every removal is
// logged with its reason. keep_free_bytes counts as half of the disk at most: a setting for a large disk must
// not empty a small one. `disk` is borrowed. Errors: what the catalog says; a file that cannot be deleted is
// logged and passed over.
base::Result<RetentionReport> run_retention(Catalog& catalog, std::uint64_t keep_free_bytes,
                                            const base::Clock& clock, Disk& disk = real_disk());

}  // namespace rookery::archive
