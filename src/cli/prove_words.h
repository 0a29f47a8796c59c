// An acceptance test's outcome as text for a terminal and as JSON.
#pragma once

#include <string>

#include <boost/json/object.hpp>

#include "camera/acceptance.h"
#include "cli/terminal.h"

namespace rookery::cli {

// Several lines, broken where the terminal ends, the overall verdict last, no line end.
std::string text_of(const camera::Measurements& measured, const camera::Acceptance& acceptance,
                    const Terminal& terminal);

boost::json::object json_of(const camera::Measurements& measured, const camera::Acceptance& acceptance);

}  // namespace rookery::cli
