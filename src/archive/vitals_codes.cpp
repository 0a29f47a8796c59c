#include "archive/vitals_codes.h"

#include <zlib.h>

#include <algorithm>
#include <cassert>
#include <cmath>

namespace rookery::archive {
namespace {

using camera::Vitals;

// Bump it when a column's scale changes. Columns may be added at the end: a day says how many it has.
constexpr std::byte kVersion{1};

// Code 0: not measured. Linear scales: code 1 is zero. The others: code 1 is zero, code 2 the least value,
// and each further code `ratio` times the one before.
struct Scale {
  double least;  // of a linear scale: the step
  double ratio;  // 0: linear
};
constexpr Scale kShare{.least = 0.005, .ratio = 0};
constexpr Scale kGrey{.least = 1, .ratio = 0};
constexpr Scale kFrames{.least = 0.01, .ratio = 1.05};  // one picture in 100 s, to 2300 a second
constexpr Scale kBytes{.least = 100, .ratio = 1.05};    // to 23 MB
constexpr Scale kGap{.least = 1e-3, .ratio = 1.1};
constexpr Scale kJitter{.least = 1e-5, .ratio = 1.1};
constexpr Scale kCount{.least = 1, .ratio = 1.05};

constexpr double kMostCode = 255;

// What a deflate block adds at most to what it holds (RFC 1951: a Huffman code of its own, 300 lengths of 7
// bits).
constexpr std::size_t kBlockHead = 320;

std::uint8_t encode(double value, const Scale& scale) {
  double code = 1;
  if (scale.ratio == 0) {
    code += std::round(value / scale.least);
  } else if (value > 0) {
    code += 1 + std::round(std::log(std::max(value, scale.least) / scale.least) / std::log(scale.ratio));
  }
  return static_cast<std::uint8_t>(std::clamp(code, 1.0, kMostCode));
}

double decode(std::uint8_t code, const Scale& scale) {
  if (code <= 1) return 0;
  if (scale.ratio == 0) return (code - 1) * scale.least;
  return scale.least * std::pow(scale.ratio, code - 2);
}

double decode_count(std::uint8_t code) { return std::round(decode(code, kCount)); }

base::Error damaged(std::string_view what) {
  return {base::ErrorCode::damaged, "vitals", std::string(what), {}};
}

}  // namespace

VitalsCodes to_codes(const Vitals& vitals) {
  return {encode(vitals.live, kShare),
          encode(vitals.frames_per_s, kFrames),
          encode(vitals.bytes_a_frame, kBytes),
          encode(vitals.longest_gap_s, kGap),
          encode(vitals.jitter_s, kJitter),
          encode(vitals.broken, kCount),
          encode(vitals.connects, kCount),
          encode(vitals.dropouts, kCount),
          vitals.light ? encode(*vitals.light, kGrey) : std::uint8_t{0}};
}

std::optional<Vitals> from_codes(const VitalsCodes& codes) {
  if (codes[0] == 0) return std::nullopt;
  Vitals vitals;
  vitals.live = std::min(1.0, decode(codes[0], kShare));
  vitals.frames_per_s = decode(codes[1], kFrames);
  vitals.bytes_a_frame = decode(codes[2], kBytes);
  vitals.longest_gap_s = decode(codes[3], kGap);
  vitals.jitter_s = decode(codes[4], kJitter);
  vitals.broken = decode_count(codes[5]);
  vitals.connects = decode_count(codes[6]);
  vitals.dropouts = decode_count(codes[7]);
  if (codes[8] != 0) vitals.light = decode(codes[8], kGrey);
  return vitals;
}

std::vector<std::byte> pack_day(std::span<const VitalsCodes> minutes) {
  assert(minutes.size() == kMinutesADay);
  std::vector<std::byte> blob(2 + compressBound(kVitalsColumns * kMinutesADay) +
                              (kVitalsColumns * kBlockHead));
  blob[0] = kVersion;
  blob[1] = static_cast<std::byte>(kVitalsColumns);
  z_stream stream{};
  [[maybe_unused]] int done = deflateInit(&stream, Z_BEST_COMPRESSION);
  if (done != Z_OK) throw std::bad_alloc();
  stream.next_out = reinterpret_cast<Bytef*>(blob.data() + 2);
  stream.avail_out = static_cast<uInt>(blob.size() - 2);
  std::array<std::uint8_t, kMinutesADay> values;
  for (std::size_t column = 0; column < kVitalsColumns; ++column) {
    for (std::size_t minute = 0; minute < kMinutesADay; ++minute) values[minute] = minutes[minute][column];
    stream.next_in = values.data();
    stream.avail_in = kMinutesADay;
    // Each column ends its block: what it counts has a Huffman code of its own, which saves a tenth.
    done = deflate(&stream, column + 1 < kVitalsColumns ? Z_BLOCK : Z_FINISH);
    assert(stream.avail_in == 0);  // there is room for all of it
  }
  assert(done == Z_STREAM_END);
  blob.resize(2 + stream.total_out);
  deflateEnd(&stream);
  return blob;
}

base::Result<std::vector<VitalsCodes>> unpack_day(std::span<const std::byte> blob) {
  if (blob.size() < 2 || blob[0] != kVersion) return damaged("a day of vitals is of a kind not known here");
  const auto held = static_cast<std::size_t>(blob[1]);
  std::vector<std::uint8_t> columns(held * kMinutesADay);
  uLongf size = static_cast<uLongf>(columns.size());
  const auto packed = blob.subspan(2);
  const int done = uncompress(columns.data(), &size, reinterpret_cast<const Bytef*>(packed.data()),
                              static_cast<uLong>(packed.size()));
  if (done != Z_OK || size != columns.size()) return damaged("a day of vitals cannot be unpacked");
  std::vector<VitalsCodes> minutes(kMinutesADay);
  for (std::size_t column = 0; column < std::min(held, kVitalsColumns); ++column) {
    for (std::size_t minute = 0; minute < kMinutesADay; ++minute)
      minutes[minute][column] = columns[(column * kMinutesADay) + minute];
  }
  return minutes;
}

}  // namespace rookery::archive
