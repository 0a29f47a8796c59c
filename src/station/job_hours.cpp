#include "station/job_hours.h"

#include <chrono>
#include <ctime>

namespace rookery::station {

// Days of local time are not all 24 h long: the begin is asked of the calendar, for today and for as many
// days back as the hours are long.
std::optional<base::WallTime> hours_began(const archive::JobHours& hours, base::WallTime at) {
  const auto days_back = static_cast<int>(hours.length / std::chrono::hours(24)) + 1;
  const std::time_t now = std::chrono::floor<std::chrono::seconds>(at).time_since_epoch().count();
  for (int back = 0; back <= days_back; ++back) {
    std::tm local{};
    ::localtime_r(&now, &local);
    local.tm_mday -= back;
    local.tm_hour = hours.from_min / 60;
    local.tm_min = hours.from_min % 60;
    local.tm_sec = 0;
    local.tm_isdst = -1;
    const std::time_t start = ::mktime(&local);  // brings the day of the week up to date
    if (start == -1 || (hours.days >> ((local.tm_wday + 6) % 7) & 1) == 0) continue;
    const base::WallTime began{std::chrono::seconds(start)};
    if (began <= at && at < began + hours.length) return began;
  }
  return std::nullopt;
}

}  // namespace rookery::station
