// Bounds on what a board may make us hold. A board is a small machine with bugs and no passwords: whatever it
// sends, the station keeps its memory and its time.
#pragma once

#include <cstddef>
#include <cstdint>

namespace rookery::proto {

// An HTTP response's status line and fields together. A board sends under 400 B; 8 KiB is what common HTTP
// servers accept in the other direction.
inline constexpr std::size_t kMaxHeadBytes = 8 * 1024;

// Redirects followed for one request. RFC 9110 §15.4 asks for a bound and names no number; five was RFC
// 2068's.
inline constexpr int kMaxRedirects = 5;

// The body of an answer that is read for its text only (an error page, the board's status): more than the
// largest status object of a board (about 1 kB) and enough of a page to tell what it is.
inline constexpr std::size_t kMaxTextBodyBytes = 64 * 1024;

// One still or one part of a stream. The largest picture of a board is 2592×1944; at one byte a pixel, which
// no sensor's encoder exceeds, that is 5.0 MB.
inline constexpr std::size_t kMaxPartBytes = 8 * 1024 * 1024;

// The header of one part. A board sends under 120 B.
inline constexpr std::size_t kMaxPartHeaderBytes = 8 * 1024;

// Bytes before the first delimiter. More than that is not multipart with the boundary that was announced.
inline constexpr std::size_t kMaxPreambleBytes = 1024 * 1024;

// RFC 2046 §5.1.1 allows boundaries of 1 to 70 characters. Longer ones do no harm, so they pass up to here.
inline constexpr std::size_t kMaxBoundaryBytes = 256;

// White space between a delimiter and its line end (RFC 2046 "transport-padding"). Bounded, since it has to
// be looked at again with every byte that arrives.
inline constexpr std::size_t kMaxPaddingBytes = 256;

}  // namespace rookery::proto
