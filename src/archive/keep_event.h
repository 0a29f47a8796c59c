// Keeping an event: its mark in the log and its recordings.
#pragma once

#include "archive/event_store.h"

namespace rookery::archive {

// What there is to see of an event: from the camera's pre-roll before to its post-roll after. A camera that
// is gone has the usual ones. Errors: those of Catalog::read.
struct EventSpan {
  base::WallTime from;
  base::WallTime to;
};
base::Result<EventSpan> span_of(Catalog& catalog, const Event& event);

// Keeps the event and the recordings of its span from retention; or lets them go, except for what belongs to
// other events that are kept. An error leaves too much kept rather than too little. Errors: not_found; those
// of SegmentStore::set_kept.
base::Result<Event> keep_event(Catalog& catalog, std::int64_t id, bool kept);

}  // namespace rookery::archive
