// Inner: what the sources of the multipart reader share. For proto/multipart*.cpp only.
#pragma once

#include <algorithm>
#include <cstddef>
#include <span>

namespace rookery::proto::inner {

// How much is looked at before it is certain that no delimiter ends it: what lies behind a delimiter is
// copied once in vain, so a slice is small beside a picture, and large beside the cost of a call.
inline constexpr std::size_t kSlice = 16 * 1024;

inline constexpr std::byte kFill{0xFF};
inline constexpr std::byte kStart{0xD8};
inline constexpr std::byte kEnd{0xD9};

using Bytes = std::span<const std::byte>;

inline bool is_line_break(std::byte b) { return b == std::byte{'\r'} || b == std::byte{'\n'}; }

inline bool starts_as_jpeg(Bytes bytes) {
  return bytes.size() >= 2 && bytes[0] == kFill && bytes[1] == kStart;
}

// SOI … EOI and possibly zero bytes: visibly whole. Whether it is a picture is for jpeg/ to say.
inline bool ends_as_jpeg(Bytes bytes) {
  while (!bytes.empty() && bytes.back() == std::byte{0}) bytes = bytes.first(bytes.size() - 1);
  const std::size_t n = bytes.size();
  return n >= 4 && starts_as_jpeg(bytes) && bytes[n - 2] == kFill && bytes[n - 1] == kEnd;
}

// The end of what stands before a delimiter: its CRLF, or bare LF, belongs to it (RFC 2046 §5.1.1).
inline std::size_t without_line_break(Bytes bytes, std::size_t end) {
  if (end > 0 && bytes[end - 1] == std::byte{'\n'})
    --end;
  else
    return end;
  if (end > 0 && bytes[end - 1] == std::byte{'\r'}) --end;
  return end;
}

}  // namespace rookery::proto::inner
