// Rule: which events of which cameras at which hours reach whom.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "archive/event_store.h"

namespace rookery::notices {

// A span of each of some days, by the station's own clock on the wall. One that ends before it begins goes on
// into the next day, and belongs to the day on which it began.
struct Hours {
  static constexpr std::uint8_t kEveryDay = 0x7f;
  static constexpr int kDay_min = 24 * 60;
  std::uint8_t days = kEveryDay;  // bit 0 Monday … bit 6 Sunday
  int from_min = 0;               // minutes since midnight, 0 to 1439
  int until_min = kDay_min;       // … of the first minute that is none any more, 1 to 1440
  bool operator==(const Hours&) const = default;
};

// A moment as a wall clock shows it.
struct LocalMoment {
  int weekday = 0;  // 0 Monday … 6 Sunday
  int minute = 0;   // since midnight
  bool operator==(const LocalMoment&) const = default;
};
// In the time zone of the computer (TZ, else /etc/localtime).
LocalMoment local_moment(base::WallTime at);
bool holds(const Hours& hours, LocalMoment moment);

struct Rule {
  std::int64_t id = 0;
  std::string name;  // for people; 1 to 64 bytes
  bool enabled = true;
  std::vector<std::int64_t> receivers;                   // ids
  std::optional<std::vector<base::CameraName>> cameras;  // none set: all
  std::vector<archive::Event::Cause> causes{archive::Event::Cause::motion, archive::Event::Cause::view,
                                            archive::Event::Cause::job};
  double least_peak = 0;  // share of the picture, 0 to 1
  Hours hours;
  std::chrono::seconds quiet{300};  // between two notices of one camera, 0 to 7 days
  bool at_end = false;              // a second notice when the event is over
  std::optional<base::WallTime> snoozed_until;
  bool operator==(const Rule&) const = default;
};

// Whether an event makes a notice by a rule, or why not.
enum class Verdict : std::uint8_t {
  send,
  off,      // the rule is not enabled
  camera,   // not of this camera
  cause,    // not of this cause
  weak,     // not strong enough, so far
  hours,    // not at this hour
  snoozed,  // not until later
  quiet,    // one of this camera was not long ago
};
// "send", "off", …
std::string_view name_of(Verdict verdict);

// last: when a notice of this camera was made by this rule. all_snoozed_until: of everything. Pure.
Verdict judge(const Rule& rule, const archive::Event& event, base::WallTime now, LocalMoment local,
              std::optional<base::WallTime> last, std::optional<base::WallTime> all_snoozed_until);

// Errors: invalid_value.
base::Result<void> check(const Rule& rule);

}  // namespace rookery::notices
