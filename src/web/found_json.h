// A thing that was found on the network as JSON: the API's and the command line's.
#pragma once

#include <boost/json/object.hpp>

#include "camera/board_list.h"

namespace rookery::web {

// docs/api.md, "found". Text of others in it is made fit to be shown.
boost::json::object found_json(const camera::FoundBoard& board);

}  // namespace rookery::web
