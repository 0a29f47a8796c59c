// Wall and monotonic time, a clock that tests drive, and RFC 3339 text.
#pragma once

#include <chrono>
#include <string>
#include <string_view>

#include "base/result.h"

namespace rookery::base {

// Wall-clock time, UTC, microseconds since 1970-01-01. What is stored and shown.
using WallTime = std::chrono::sys_time<std::chrono::microseconds>;
// Monotonic time: never steps, means nothing across a restart. What intervals are measured with.
using MonoTime = std::chrono::steady_clock::time_point;
using Microseconds = std::chrono::microseconds;
using Milliseconds = std::chrono::milliseconds;
using Seconds = std::chrono::seconds;

// Where code that must be testable gets its time from. any-thread.
class Clock {
 public:
  virtual ~Clock() = default;
  virtual WallTime wall() const = 0;
  virtual MonoTime mono() const = 0;
};

// The computer's own clocks.
class SystemClock final : public Clock {
 public:
  WallTime wall() const override;
  MonoTime mono() const override;
};

// RFC 3339 in UTC with milliseconds: "2026-03-01T12:00:00.250Z". Sub-millisecond digits are cut off.
std::string to_rfc3339(WallTime time);

// Reads RFC 3339 (date-time with a zone: "Z" or "+02:00"; fraction up to 9 digits, cut to microseconds).
// Leap second :60 is read as :59.999999. Errors: invalid_value, with the text that was given.
Result<WallTime> parse_rfc3339(std::string_view text);

}  // namespace rookery::base
