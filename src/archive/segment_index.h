// SegmentIndex: where each frame of a Matroska segment lies and when it was taken, from the heads of its
// elements alone. Reads our own files, also half-written ones; refuses what is none of ours with a clear
// word.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "archive/byte_source.h"
#include "base/result.h"
#include "base/time.h"
#include "camera/frame.h"

namespace rookery::archive {

struct IndexedFrame {
  std::uint64_t offset = 0;   // of the JPEG in the file
  std::uint64_t cluster = 0;  // where the cluster that holds it begins
  std::uint32_t size_bytes = 0;
  std::int32_t at_ms = 0;  // since the segment's date
  bool operator==(const IndexedFrame&) const = default;
};

struct SegmentHead {
  base::WallTime date;  // DateUTC, cut to microseconds
  camera::PixelSize size;
  std::string title;
  std::uint64_t scale_ns = 1'000'000;
  std::uint64_t track = 0;
};

// One user at a time.
class SegmentIndex {
 public:
  // Reads the head and every frame's place. `name` is for error texts. A file that ends in the middle of a
  // cluster (a crash; or it is being written right now) is no error: the frames before are there, and torn()
  // is true. Errors: malformed (no Matroska, damaged head), unsupported (no motion JPEG, lacing, encrypted, a
  // version that we do not know), too_large (over kMost_frames).
  static base::Result<SegmentIndex> read(const ByteSource& source, std::string_view name);

  // Reads what was added to a growing file since. Returns how many frames came. Errors: as read.
  base::Result<std::size_t> extend(const ByteSource& source, std::string_view name);

  const SegmentHead& head() const& { return head_; }
  const SegmentHead& head() const&& = delete;
  std::span<const IndexedFrame> frames() const& { return frames_; }
  std::span<const IndexedFrame> frames() const&& = delete;
  base::WallTime time_of(std::size_t frame) const {
    return head_.date + base::Milliseconds{frames_[frame].at_ms};
  }

  // The end of the last whole element: what a mended file keeps.
  std::uint64_t whole_bytes() const { return whole_bytes_; }
  // Something stands after that which is no whole element.
  bool torn() const { return torn_; }
  // The file says its own length and it is right: it was finished, or mended.
  bool sealed() const { return sealed_; }

  // Ten frames a millisecond for a day would be fewer.
  static constexpr std::size_t kMost_frames = 8'000'000;

 private:
  struct Walk;
  SegmentHead head_;
  std::vector<IndexedFrame> frames_;
  std::uint64_t segment_body_ = 0;
  std::uint64_t segment_end_ = UINT64_MAX;  // unknown while the segment is written
  std::uint64_t whole_bytes_ = 0;
  bool torn_ = false;
  bool sealed_ = false;
};

// The JPEG of one indexed frame. Errors: io (the file ends before).
base::Result<std::vector<std::byte>> read_frame(const ByteSource& source, const IndexedFrame& frame);

// Whether the cluster that begins at `cluster` matches its checksum (RFC 8794 section 11.3.1). True as well
// when it carries none. Reads the whole cluster.
bool cluster_sound(const ByteSource& source, std::uint64_t cluster);

}  // namespace rookery::archive
