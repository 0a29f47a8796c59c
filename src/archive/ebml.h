// Inner: elements of EBML (RFC 8794): an ID, a length, that many bytes. Reads through a small window, so that
// a walk over a large file touches only the heads of its elements.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>

#include "archive/byte_source.h"

namespace rookery::archive::ebml {

// The IDs that we read (RFC 8794 section 11.2; RFC 9559 section 5).
enum Id : std::uint32_t {
  kEbml = 0x1A45DFA3,
  kEbmlReadVersion = 0x42F7,
  kDocType = 0x4282,
  kDocTypeReadVersion = 0x4285,
  kVoid = 0xEC,
  kCrc32 = 0xBF,
  kSegment = 0x18538067,
  kSeekHead = 0x114D9B74,
  kInfo = 0x1549A966,
  kTimestampScale = 0x2AD7B1,
  kDuration = 0x4489,
  kDateUtc = 0x4461,
  kTitle = 0x7BA9,
  kMuxingApp = 0x4D80,
  kWritingApp = 0x5741,
  kTracks = 0x1654AE6B,
  kTrackEntry = 0xAE,
  kTrackNumber = 0xD7,
  kTrackUid = 0x73C5,
  kTrackType = 0x83,
  kCodecId = 0x86,
  kContentEncodings = 0x6D80,
  kVideo = 0xE0,
  kPixelWidth = 0xB0,
  kPixelHeight = 0xBA,
  kCluster = 0x1F43B675,
  kTimestamp = 0xE7,
  kSimpleBlock = 0xA3,
  kBlockGroup = 0xA0,
  kBlock = 0xA1,
  kCues = 0x1C53BB6B,
  kTags = 0x1254C367,
  kChapters = 0x1043A770,
  kAttachments = 0x1941A469,
};

struct Element {
  std::uint32_t id = 0;
  std::uint64_t at = 0;               // where its ID begins
  std::uint64_t body = 0;             // where its content begins
  std::optional<std::uint64_t> size;  // of the content; none: unknown
  std::uint64_t end() const { return body + size.value_or(0); }
};

// A moving window over a source. Every read is bounded by `limit`.
class Window {
 public:
  explicit Window(const ByteSource& source) : source_(source), limit_(source.size()) {}

  std::uint64_t limit() const { return limit_; }
  // The head of the element at `at`. None when the bytes end before, or are no EBML head.
  std::optional<Element> element(std::uint64_t at);
  // The content of an element as an unsigned number, a signed one, a float, text. None when it is too long
  // for that, or cut off.
  std::optional<std::uint64_t> unsigned_of(const Element& element);
  std::optional<std::int64_t> signed_of(const Element& element);
  std::optional<std::string> text_of(const Element& element, std::size_t most = 1024);
  // `count` bytes at `at`, at most kSpan_bytes; empty when there are fewer. Valid until the next call.
  std::span<const std::byte> bytes(std::uint64_t at, std::size_t count) &;

  // Enough for the head of a cluster, its checksum and time, and the head of a block (at most 42).
  static constexpr std::size_t kSpan_bytes = 64;

 private:
  const ByteSource& source_;
  std::uint64_t limit_;
  std::uint64_t start_ = 0;
  std::size_t filled_ = 0;
  std::array<std::byte, kSpan_bytes> held_{};
};

// A variable-length number as in RFC 8794 section 4, marker taken off: value and length; none when cut off or
// when the first byte is 0.
struct Vint {
  std::uint64_t value = 0;
  std::size_t length = 0;
  bool unknown = false;  // all value bits set
};
std::optional<Vint> read_vint(std::span<const std::byte> bytes);

// The checksum of RFC 8794 section 11.3.1 (CRC-32 of ISO 3309, IEEE 802.3).
std::uint32_t compute_crc32(std::span<const std::byte> bytes);

}  // namespace rookery::archive::ebml
