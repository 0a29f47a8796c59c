// Which events a request asks for.
#pragma once

#include "archive/event_store.h"
#include "web/services.h"

namespace rookery::web {

// From the query "camera", "from", "to", "cause", "least_peak", "kept", "limit", "before"; only cameras that
// the caller may see. Errors: invalid_value, malformed (before), not_found (a camera that the caller does not
// see).
base::Result<archive::EventQuery> event_query_of(const Call& call);

}  // namespace rookery::web
