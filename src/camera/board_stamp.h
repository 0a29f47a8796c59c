// The stamp that boards put in a part's header: seconds of their own clock, which counts from boot.
#pragma once

#include <optional>
#include <string_view>

#include "base/time.h"
#include "proto/multipart.h"

namespace rookery::camera {

// "12.345678" (up to 6 decimals count): seconds. Nothing for any other text, a sign, or more than 100 years.
std::optional<base::Microseconds> parse_stamp(std::string_view text);

// Of a part that brings one.
std::optional<base::Microseconds> stamp_of(const proto::PartHeaders& headers);

}  // namespace rookery::camera
