// walk(): is this one whole JPEG picture, and what is it? Reads the markers (ITU-T T.81 annex B), decodes
// nothing.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <variant>

namespace rookery::jpeg {

// How often colour is sampled in relation to luma.
enum class Sampling { gray, s444, s422, s420, s440, s411, other };

// "gray", "4:4:4", "4:2:2", …
std::string_view name_of(Sampling sampling);

struct PictureInfo {
  int width_px = 0;
  int height_px = 0;
  int components = 0;  // 1 or 3
  Sampling sampling = Sampling::other;
  int bits = 8;  // a sample; always 8
  bool progressive = false;
  bool huffman_tables = false;          // it brings some; without, the standard ones are meant
  int restart_interval = 0;             // MCUs between restart markers, 0 without
  std::optional<int> quality_estimate;  // IJG scale 1–100 (jpeg/quality.h); nothing when unlike any
  std::size_t padding_bytes = 0;        // after the end marker
};

// Why bytes are not one whole picture.
enum class BrokenKind {
  empty,            // no bytes
  not_a_picture,    // text, HTML, or another picture format
  no_start,         // does not begin with SOI
  no_end,           // ends before EOI
  bad_marker,       // something else where a marker must stand, or a marker that must not stand there
  bad_length,       // a segment contradicts its own length or the frame header
  bad_restart,      // restart markers out of order: a piece is missing
  no_frame_header,  // no SOF before the picture data
  no_tables,        // a component's quantization table did not come before its data
  no_scan,          // no picture data
  size_zero,        // width or height is 0
  too_large,        // over kMaxSide_px or kMaxPicture_px
  unsupported,      // lossless, hierarchical, arithmetic, 12 bit, or neither 1 nor 3 components
  trailing_data,    // more than padding after EOI: another picture's tail
};
inline constexpr int kBrokenKinds = 14;

// A machine word: "no-end", "not-a-picture", …
std::string_view name_of(BrokenKind kind);
// A sentence for people: what is wrong and what usually brings it about.
std::string_view explain(BrokenKind kind);

// The largest side and area that are ever decoded. Boards reach 2592×1944; 8192×4096 leaves room for any
// sensor of the kind and keeps one decoded luma plane under 32 MiB.
inline constexpr int kMaxSide_px = 8192;
inline constexpr int kMaxPicture_px = 8192 * 4096;

using WalkResult = std::variant<PictureInfo, BrokenKind>;

// Walks all markers of all scans. bytes: one picture as a board sent it, borrowed. Never allocates.
// Zero bytes, 0xFF and line breaks after EOI are padding and tolerated; the bytes are never changed, so a
// picture is passed on with its padding. Thumbnails inside APPn segments are skipped with them. any-thread.
WalkResult walk(std::span<const std::byte> bytes);

}  // namespace rookery::jpeg
