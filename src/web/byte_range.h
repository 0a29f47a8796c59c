// Byte ranges (RFC 9110, 14): one range, as players and browsers ask for it.
#pragma once

#include <cstdint>
#include <string_view>

namespace rookery::web {

struct RangeChoice {
  enum Kind { whole, part, none_such } kind = whole;
  std::uint64_t first = 0;
  std::uint64_t length = 0;
};

// What to send of `size` bytes for a Range field. Everything when the field is empty, asks for several ranges
// or is not understood (RFC 9110, 14.2: then it is ignored).
RangeChoice choose_range(std::string_view field, std::uint64_t size);

}  // namespace rookery::web
