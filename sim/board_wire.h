// The bytes around the pictures: response heads and multipart framing, in every variant boards are seen with.
// Pure text, no sockets.
#pragma once

#include <string>
#include <string_view>

#include "sim/types.h"

namespace rookery::sim {

// How a board frames its motion JPEG. "Chunked" is HTTP/1.1 chunked transfer coding.
enum class Framing : std::uint8_t {
  chunked_stamp,        // chunked, three chunks a frame (delimiter, part header with length and stamp, JPEG)
  chunked_no_stamp,     // the same without the stamp
  boundary_after,       // chunked; the delimiter follows each JPEG, so the first part has none before it
  word_until_close,     // not chunked, parts without Content-Length, CRLF after the JPEG, until close
  dashes_in_parameter,  // the boundary parameter holds its two dashes: boundary=--word
  length_and_chunked,   // a Content-Length beside Transfer-Encoding: chunked
  bare_lf,              // lines of the multipart end in LF alone
  quoted_boundary,      // boundary="word:word", with a space before it
  http_1_0,             // HTTP/1.0, until close, parts with Content-Length
};

inline constexpr Framing kAllFramings[] = {
    Framing::chunked_stamp,    Framing::chunked_no_stamp,    Framing::boundary_after,
    Framing::word_until_close, Framing::dashes_in_parameter, Framing::length_and_chunked,
    Framing::bare_lf,          Framing::quoted_boundary,     Framing::http_1_0,
};

// "chunked-stamp", …
std::string_view name_of(Framing framing);
// True when the body travels in chunks.
bool is_chunked(Framing framing);

// The status line and header of a stream's response, with the empty line at its end.
std::string stream_head(Framing framing, std::string_view boundary);

// What stands before and after one JPEG on the wire, chunk sizes included.
struct Wrapping {
  std::string before;
  std::string after;
};
// `stamp`: time since boot; `declared_length`: what the part's Content-Length says (the true length, or a
// lie).
Wrapping wrap_frame(Framing framing, std::string_view boundary, std::uint64_t true_length,
                    std::uint64_t declared_length, base::Microseconds stamp);

// The header of a still's response.
std::string still_head(std::size_t length, base::Microseconds stamp);

// A whole response with a body of text and a length.
std::string text_response(std::string_view status, std::string_view extra_headers, std::string_view type,
                          std::string_view body);

}  // namespace rookery::sim
