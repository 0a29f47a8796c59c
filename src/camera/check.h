// Whether what a person set for a camera can work, and if not, what to write instead.
#pragma once

#include <string_view>

#include "base/result.h"
#include "camera/settings.h"

namespace rookery::camera {

// Ok, or invalid_value with the first setting that cannot be. Looks nothing up: a board that is switched off
// is no fault. `where` of the error is "<camera>: <setting>".
base::Result<void> check(const Settings& settings);

// One board address: an http:// or https:// URL with a host, without user information and fragment, at most
// 2048 characters (RFC 3986). `what` names it in the error ("stream address"). Errors: invalid_value.
base::Result<void> check_address(std::string_view what, std::string_view address);

}  // namespace rookery::camera
