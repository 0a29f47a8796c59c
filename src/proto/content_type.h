// A Content-Type value taken apart (RFC 9110 §8.3, RFC 2045 §5.1), and the boundary in it.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace rookery::proto {

// True if both are the same but for the case of ASCII letters. any-thread.
bool same_word(std::string_view a, std::string_view b);

// immutable once parsed.
struct ContentType {
  struct Param {
    std::string name;   // lower case
    std::string value;  // as sent, quotes and backslashes taken off
  };

  std::string type;     // "multipart", lower case
  std::string subtype;  // "x-mixed-replace", lower case
  std::vector<Param> params;

  // The first parameter of that name (any case), or nullptr.
  const std::string* param(std::string_view name) const&;
  const std::string* param(std::string_view name) const&& = delete;

  // Any subtype of multipart: unknown ones count as mixed (RFC 2046 §5.1.3).
  bool is_multipart() const { return type == "multipart"; }
  bool is_jpeg() const { return type == "image" && (subtype == "jpeg" || subtype == "jpg"); }
};

// Takes "type/subtype; name=value; name="quoted \"value\""" apart. Tolerated: white space anywhere between
// tokens, none after ";", empty parameters, a quote never closed, a parameter without "=" (skipped).
// Errors: malformed when there is no type/subtype.
base::Result<ContentType> parse_content_type(std::string_view text);

// The boundary parameter as sent, with its dashes if it has them.
// Errors: malformed when it is missing or empty, too_large beyond kMaxBoundaryBytes (proto/limits.h).
base::Result<std::string> boundary_of(const ContentType& content_type);

}  // namespace rookery::proto
