// When the hours of a camera's schedule began.
#pragma once

#include <optional>

#include "archive/job.h"
#include "base/time.h"

namespace rookery::station {

// The spans of the schedule that hold `at`: when the newest of them began. Pure but for the time zone
// (notices::local_moment).
std::optional<base::WallTime> hours_began(const archive::JobHours& hours, base::WallTime at);

}  // namespace rookery::station
