// Opening and mending what a home holds, also where a full disk leaves no room for that.
#pragma once

#include <filesystem>
#include <memory>

#include "archive/catalog.h"
#include "archive/upkeep.h"

namespace rookery::station {

// As archive::Catalog::open. When the disk is too full for that, the oldest recordings that nobody kept go
// first: retention, which would make room, needs the catalog. Errors: those of Catalog::open; busy when
// another station runs on this home.
base::Result<std::unique_ptr<archive::Catalog>> open_catalog(const std::filesystem::path& home);

// As archive::mend, in a home that the caller has locked. Where a full disk stops it, the oldest recordings
// that nobody kept go first; where that does not help, the rest stays planned, and that is logged. Errors:
// those of archive::mend but for disk_full.
base::Result<archive::MendReport> mend_if_there_is_room(archive::Catalog& catalog, archive::MendPlan& plan);

}  // namespace rookery::station
