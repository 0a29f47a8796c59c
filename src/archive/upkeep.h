// Upkeep of the archive: mending after a crash, checking, rebuilding the catalog. Retention has retention.h.
#pragma once

#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "archive/catalog.h"
#include "archive/segment_store.h"

namespace rookery::archive {

struct MendReport {
  std::size_t segments_looked_at = 0;
  std::size_t mended = 0;  // cut back to their last whole cluster, or catalog entry put right
  std::uint64_t bytes_cut = 0;
  std::size_t set_aside = 0;  // not one whole frame: renamed to <file>.damaged, never deleted
};

// What a crash left. Made before anything is recorded: later nothing tells it from what is in work.
struct MendPlan {
  struct Stray {
    base::CameraName camera;
    std::string path;  // below the archive
  };
  std::vector<Segment> open;  // entries that the catalog calls open
  std::vector<Stray> strays;  // files without an entry, younger than those and than each camera's newest
  bool empty() const { return open.empty() && strays.empty(); }
};

// Reads only. After a clean stop that is one look into each camera's folders.
base::Result<MendPlan> plan_mend(Catalog& catalog);

// Does what is planned and takes what is done off the plan. Errors: disk_full, and what else the catalog
// says; the rest then stays planned.
base::Result<MendReport> mend(Catalog& catalog, MendPlan& plan);

// Both, at start-up.
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
// Makes the catalog's segments anew from the files alone, in one transaction; also when catalog.db is missing
// or damaged (a damaged one is set aside as catalog.db.damaged-<time>, never deleted). Steps of the strips
// that the catalog does not know are filled in. Cameras without settings get an entry that is disabled
// (source pushed). Files left open by a crash are mended first; one that cannot be read is logged and left
// where it is. Strips are computed from about one frame a second; the health of the hours before is not known
// any more and reads as live where there is a recording. Beside a running station what it is writing and what
// it begins meanwhile keep their entries. Errors: cancelled
// (`progress` returned false; nothing has changed), busy (a station runs, and the catalog is missing or
// damaged), and what the catalog says.
base::Result<RebuildReport> rebuild(const std::filesystem::path& home,
                                    const std::function<bool(double)>& progress);

}  // namespace rookery::archive
