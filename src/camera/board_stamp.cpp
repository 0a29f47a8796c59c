#include "camera/board_stamp.h"

#include <charconv>

namespace rookery::camera {
namespace {

constexpr std::string_view kField = "X-Timestamp";  // of makers' example programs (docs/tolerances.md)
constexpr std::int64_t kMost_s = 100LL * 366 * 86400;

}  // namespace

std::optional<base::Microseconds> parse_stamp(std::string_view text) {
  std::int64_t whole_s = 0;
  const char* const end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, whole_s);
  if (read.ec != std::errc() || text.front() == '-' || whole_s > kMost_s) return std::nullopt;
  std::int64_t micros = 0;
  const char* at = read.ptr;
  if (at != end) {
    if (*at++ != '.') return std::nullopt;
    std::int64_t worth = 100'000;
    for (; at != end; ++at, worth /= 10) {
      if (*at < '0' || *at > '9') return std::nullopt;
      micros += (*at - '0') * worth;
    }
  }
  return base::Microseconds(whole_s * 1'000'000 + micros);
}

std::optional<base::Microseconds> stamp_of(const proto::PartHeaders& headers) {
  const std::string* text = headers.find(kField);
  return text != nullptr ? parse_stamp(*text) : std::nullopt;
}

}  // namespace rookery::camera
