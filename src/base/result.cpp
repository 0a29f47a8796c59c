#include "base/result.h"

namespace rookery::base {

std::string_view name_of(ErrorCode code) {
  switch (code) {
    case ErrorCode::invalid_value:
      return "invalid-value";
    case ErrorCode::not_found:
      return "not-found";
    case ErrorCode::already_exists:
      return "already-exists";
    case ErrorCode::no_permission:
      return "no-permission";
    case ErrorCode::refused:
      return "refused";
    case ErrorCode::unreachable:
      return "unreachable";
    case ErrorCode::timed_out:
      return "timed-out";
    case ErrorCode::closed:
      return "closed";
    case ErrorCode::malformed:
      return "malformed";
    case ErrorCode::too_large:
      return "too-large";
    case ErrorCode::unsupported:
      return "unsupported";
    case ErrorCode::disk_full:
      return "disk-full";
    case ErrorCode::io:
      return "io";
    case ErrorCode::newer_version:
      return "newer-version";
    case ErrorCode::damaged:
      return "damaged";
    case ErrorCode::busy:
      return "busy";
    case ErrorCode::cancelled:
      return "cancelled";
  }
  return "unknown";
}

std::string Error::text() const {
  std::string line = where;
  if (!detail.empty()) {
    if (!line.empty()) line += ": ";
    line += detail;
  }
  if (!remedy.empty()) {
    if (!line.empty() && line.back() != '.') line += '.';
    line += ' ';
    line += remedy;
  }
  return line;
}

}  // namespace rookery::base
