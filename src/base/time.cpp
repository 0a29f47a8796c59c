#include "base/time.h"

#include <charconv>

#include <fmt/format.h>

namespace rookery::base {
namespace {

// Reads exactly `digits` decimal digits at the front of `text` and takes them off.
bool take_number(std::string_view& text, std::size_t digits, int& out) {
  if (text.size() < digits) return false;
  const char* first = text.data();
  for (std::size_t i = 0; i < digits; ++i) {
    if (first[i] < '0' || first[i] > '9') return false;
  }
  std::from_chars(first, first + digits, out);
  text.remove_prefix(digits);
  return true;
}

bool take_char(std::string_view& text, std::string_view allowed) {
  if (text.empty() || allowed.find(text.front()) == std::string_view::npos) return false;
  text.remove_prefix(1);
  return true;
}

// ".25" → 250 000 µs; nothing there → 0. False when a point stands without digits.
bool take_fraction(std::string_view& text, int& microseconds) {
  microseconds = 0;
  if (text.empty() || text.front() != '.') return true;
  text.remove_prefix(1);
  int digits = 0;
  for (; !text.empty() && text.front() >= '0' && text.front() <= '9' && digits < 9; ++digits) {
    if (digits < 6) microseconds = microseconds * 10 + (text.front() - '0');
    text.remove_prefix(1);
  }
  for (int i = digits; i < 6; ++i) microseconds *= 10;
  return digits > 0;
}

// "Z" or "+hh:mm" → minutes east of UTC.
bool take_zone(std::string_view& text, int& minutes) {
  minutes = 0;
  if (take_char(text, "Zz")) return true;
  if (text.empty()) return false;
  const int sign = text.front() == '-' ? -1 : 1;
  int h = 0;
  int m = 0;
  if (!take_char(text, "+-") || !take_number(text, 2, h) || !take_char(text, ":") || !take_number(text, 2, m))
    return false;
  if (h > 23 || m > 59) return false;
  minutes = sign * (h * 60 + m);
  return true;
}

}  // namespace

WallTime SystemClock::wall() const {
  return std::chrono::time_point_cast<Microseconds>(std::chrono::system_clock::now());
}

MonoTime SystemClock::mono() const { return std::chrono::steady_clock::now(); }

std::string to_rfc3339(WallTime time) {
  using namespace std::chrono;
  const auto day = floor<days>(time);
  const year_month_day date{day};
  const hh_mm_ss clock{floor<milliseconds>(time - day)};
  return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}.{:03}Z", static_cast<int>(date.year()),
                     static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()),
                     clock.hours().count(), clock.minutes().count(), clock.seconds().count(),
                     clock.subseconds().count());
}

Result<WallTime> parse_rfc3339(std::string_view text) {
  using namespace std::chrono;
  std::string_view rest = text;
  int y = 0, mo = 0, d = 0, h = 0, mi = 0, s = 0, micro = 0, zone = 0;
  const bool shaped = take_number(rest, 4, y) && take_char(rest, "-") && take_number(rest, 2, mo) &&
                      take_char(rest, "-") && take_number(rest, 2, d) && take_char(rest, "Tt ") &&
                      take_number(rest, 2, h) && take_char(rest, ":") && take_number(rest, 2, mi) &&
                      take_char(rest, ":") && take_number(rest, 2, s) && take_fraction(rest, micro) &&
                      take_zone(rest, zone) && rest.empty();
  const year_month_day date{year{y}, month{static_cast<unsigned>(mo)}, day{static_cast<unsigned>(d)}};
  if (!shaped || !date.ok() || h > 23 || mi > 59 || s > 60) {
    return Error(ErrorCode::invalid_value, "time", fmt::format("\"{}\" is not a time", text),
                 "Write it as 2026-03-01T12:00:00Z or with an offset such as +02:00.");
  }
  if (s == 60) {  // a leap second has no number of its own in Unix time
    s = 59;
    micro = 999'999;
  }
  return WallTime{sys_days{date}} + hours{h} + minutes{mi - zone} + seconds{s} + microseconds{micro};
}

}  // namespace rookery::base
