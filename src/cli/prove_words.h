// An acceptance test's outcome as text for a terminal and as JSON.
#pragma once

#include <string>

#include <boost/json/object.hpp>

#include "camera/acceptance.h"

namespace rookery::cli {

// Several lines, the overall verdict last, no line end.
std::string text_of(const camera::Measurements& measured, const camera::Acceptance& acceptance);

boost::json::object json_of(const camera::Measurements& measured, const camera::Acceptance& acceptance);

}  // namespace rookery::cli
