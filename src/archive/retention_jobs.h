// Inner: what retention does with jobs that are over, and with their films.
#pragma once

#include "archive/retention.h"

namespace rookery::archive {

// One round: forgets the oldest jobs and removes the oldest films beyond the bounds; what a person judged
// good goes in neither, nor counts. A batch at most, so that no round takes long; the next goes on. Each is
// logged. A file that cannot be deleted is logged and passed over. Errors: those of the catalog; of
// Disk::space.
base::Result<void> keep_to_bounds(Catalog& catalog, Disk& disk, const JobBounds& bounds);

}  // namespace rookery::archive
