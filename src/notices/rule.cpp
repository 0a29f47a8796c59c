#include "notices/rule.h"

#include <fmt/format.h>

#include <algorithm>
#include <ctime>

#include "base/printable.h"

namespace rookery::notices {
namespace {

base::Error invalid(const Rule& rule, std::string_view what, std::string detail, std::string remedy) {
  return {base::ErrorCode::invalid_value,
          fmt::format("rule \"{}\": {}", base::printable(rule.name, 64), what), std::move(detail),
          std::move(remedy)};
}

bool is_day(const Hours& hours, int weekday) { return ((hours.days >> weekday) & 1) != 0; }

}  // namespace

LocalMoment local_moment(base::WallTime at) {
  const std::time_t seconds = std::chrono::floor<std::chrono::seconds>(at).time_since_epoch().count();
  std::tm local{};
  ::localtime_r(&seconds, &local);
  return {(local.tm_wday + 6) % 7, local.tm_hour * 60 + local.tm_min};
}

bool holds(const Hours& hours, LocalMoment moment) {
  if (hours.from_min < hours.until_min)
    return is_day(hours, moment.weekday) && moment.minute >= hours.from_min &&
           moment.minute < hours.until_min;
  if (moment.minute >= hours.from_min) return is_day(hours, moment.weekday);
  return moment.minute < hours.until_min && is_day(hours, (moment.weekday + 6) % 7);
}

std::string_view name_of(Verdict verdict) {
  constexpr std::string_view kNames[] = {"send", "off",   "camera",  "cause",
                                         "weak", "hours", "snoozed", "quiet"};
  return kNames[static_cast<std::size_t>(verdict)];
}

Verdict judge(const Rule& rule, const archive::Event& event, base::WallTime now, LocalMoment local,
              std::optional<base::WallTime> last, std::optional<base::WallTime> all_snoozed_until) {
  if (!rule.enabled) return Verdict::off;
  if (rule.cameras && std::ranges::find(*rule.cameras, event.camera) == rule.cameras->end())
    return Verdict::camera;
  if (std::ranges::find(rule.causes, event.cause) == rule.causes.end()) return Verdict::cause;
  if (event.peak < rule.least_peak) return Verdict::weak;
  if (!holds(rule.hours, local)) return Verdict::hours;
  if ((rule.snoozed_until && now < *rule.snoozed_until) || (all_snoozed_until && now < *all_snoozed_until))
    return Verdict::snoozed;
  // One that lies in the future was made before the clock was set back: it says nothing.
  if (last && *last <= now && now - *last < rule.quiet) return Verdict::quiet;
  return Verdict::send;
}

base::Result<void> check(const Rule& rule) {
  if (rule.name.empty() || rule.name.size() > 64)
    return invalid(rule, "name", fmt::format("it has {} bytes", rule.name.size()), "Give one of 1 to 64.");
  if (rule.causes.empty())
    return invalid(rule, "causes", "there is none", "Name at least one of motion, lighting, view, job.");
  if (!(rule.least_peak >= 0 && rule.least_peak <= 1))
    return invalid(rule, "least peak", fmt::format("{} is no share of the picture", rule.least_peak),
                   "Give one from 0 to 1, for example 0.01.");
  if (rule.hours.days == 0 || rule.hours.days > Hours::kEveryDay)
    return invalid(rule, "days", "there is none", "Name at least one day of the week.");
  if (rule.hours.from_min < 0 || rule.hours.from_min >= Hours::kDay_min || rule.hours.until_min < 1 ||
      rule.hours.until_min > Hours::kDay_min || rule.hours.from_min == rule.hours.until_min)
    return invalid(rule, "hours",
                   fmt::format("minute {} to minute {}", rule.hours.from_min, rule.hours.until_min),
                   "Begin at 00:00 to 23:59 and end at another time up to 24:00.");
  if (rule.quiet < std::chrono::seconds{0} || rule.quiet > std::chrono::days{7})
    return invalid(rule, "quiet time", fmt::format("{} s", rule.quiet.count()), "Give 0 s to 7 days.");
  return base::ok();
}

}  // namespace rookery::notices
