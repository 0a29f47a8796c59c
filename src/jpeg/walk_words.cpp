// The words and sentences of jpeg/walk.h.
#include "jpeg/walk.h"

namespace rookery::jpeg {

std::string_view name_of(Sampling sampling) {
  switch (sampling) {
    case Sampling::gray:
      return "gray";
    case Sampling::s444:
      return "4:4:4";
    case Sampling::s422:
      return "4:2:2";
    case Sampling::s420:
      return "4:2:0";
    case Sampling::s440:
      return "4:4:0";
    case Sampling::s411:
      return "4:1:1";
    case Sampling::other:
      break;
  }
  return "other";
}

std::string_view name_of(BrokenKind kind) {
  switch (kind) {
    case BrokenKind::empty:
      return "empty";
    case BrokenKind::not_a_picture:
      return "not-a-picture";
    case BrokenKind::no_start:
      return "no-start";
    case BrokenKind::no_end:
      return "no-end";
    case BrokenKind::bad_marker:
      return "bad-marker";
    case BrokenKind::bad_length:
      return "bad-length";
    case BrokenKind::bad_restart:
      return "bad-restart";
    case BrokenKind::no_frame_header:
      return "no-frame-header";
    case BrokenKind::no_tables:
      return "no-tables";
    case BrokenKind::no_scan:
      return "no-scan";
    case BrokenKind::size_zero:
      return "size-zero";
    case BrokenKind::too_large:
      return "too-large";
    case BrokenKind::unsupported:
      return "unsupported";
    case BrokenKind::trailing_data:
      return "trailing-data";
  }
  return "unknown";
}

std::string_view explain(BrokenKind kind) {
  switch (kind) {
    case BrokenKind::empty:
      return "The board sent a picture of no bytes: its sensor delivered nothing in time.";
    case BrokenKind::not_a_picture:
      return "The board sent text or another format in place of a JPEG: the address is probably that of a "
             "page.";
    case BrokenKind::no_start:
      return "The picture lacks its beginning: the board lost the first bytes of the sensor's data.";
    case BrokenKind::no_end:
      return "The picture is cut off: it did not fit the board's frame buffer, or the connection broke.";
    case BrokenKind::bad_marker:
      return "The picture holds bytes where a JPEG marker must stand: data was lost between sensor and chip.";
    case BrokenKind::bad_length:
      return "A segment of the picture contradicts its own length: data was lost between sensor and chip.";
    case BrokenKind::bad_restart:
      return "The picture's restart markers are out of order: a piece of it is missing.";
    case BrokenKind::no_frame_header:
      return "The picture does not say its size: its header was lost.";
    case BrokenKind::no_tables:
      return "The picture lacks a quantization table and cannot be decoded: its header was lost.";
    case BrokenKind::no_scan:
      return "The picture has a header but no picture data.";
    case BrokenKind::size_zero:
      return "The picture says that it is 0 pixels wide or high.";
    case BrokenKind::too_large:
      return "The picture says that it is larger than 8192 pixels a side or 33.5 megapixels.";
    case BrokenKind::unsupported:
      return "The picture is JPEG of a kind that viewers do not show (lossless, arithmetic, 12 bit or CMYK).";
    case BrokenKind::trailing_data:
      return "The picture is followed by the rest of another one: the board sent its buffer past the end.";
  }
  return "The picture is broken in an unknown way.";
}

}  // namespace rookery::jpeg
