// Events as the API gives them.
#pragma once

#include <boost/json/object.hpp>

#include "archive/event_store.h"

namespace rookery::archive {

// docs/api.md.
boost::json::object event_json(const Event& event);

}  // namespace rookery::archive
