#include "archive/segment_index.h"

#include <climits>

#include "archive/ebml.h"

namespace rookery::archive {
namespace {

using base::Error;
using base::ErrorCode;
using ebml::Element;

// DateUTC counts nanoseconds from here (RFC 8794 section 7.6).
constexpr std::chrono::sys_days kDateOrigin{std::chrono::year{2001} / 1 / 1};
// A frame header of JPEG cannot say more, and no frame of ours is larger.
constexpr std::uint64_t kMostFrame_bytes = 256u << 20;

// The first child of `parent` with this ID.
std::optional<Element> child_of(ebml::Window& window, const Element& parent, std::uint32_t id) {
  for (std::uint64_t at = parent.body; at < parent.end();) {
    const auto child = window.element(at);
    if (!child || !child->size || child->end() > parent.end()) return std::nullopt;
    if (child->id == id) return child;
    at = child->end();
  }
  return std::nullopt;
}

std::optional<std::uint64_t> number_in(ebml::Window& window, const Element& parent, std::uint32_t id) {
  const auto child = child_of(window, parent, id);
  return child ? window.unsigned_of(*child) : std::nullopt;
}

std::string text_in(ebml::Window& window, const Element& parent, std::uint32_t id) {
  const auto child = child_of(window, parent, id);
  return child ? window.text_of(*child).value_or("") : "";
}

bool may_stand_in_a_segment(std::uint32_t id) {
  // All level-1 elements of Matroska, known or yet to come, have IDs of four bytes.
  return id == ebml::kVoid || id == ebml::kCrc32 || id >= 0x10000000;
}

}  // namespace

// One pass over a file, from where the index stands.
struct SegmentIndex::Walk {
  SegmentIndex& index;
  ebml::Window window;
  std::string_view name;

  Walk(SegmentIndex& index_, const ByteSource& source, std::string_view name_)
      : index(index_), window(source), name(name_) {}

  Error wrong(ErrorCode code, std::string detail) const {
    return {code, fmt::format("{}: read segment", name), std::move(detail)};
  }

  base::Result<std::uint64_t> read_ebml_head();
  base::Result<void> read_segment_start(std::uint64_t at);
  base::Result<void> read_elements();
  base::Result<void> read_info(const Element& info);
  base::Result<void> read_tracks(const Element& tracks);
  base::Result<bool> read_cluster(const Element& cluster);
  base::Result<bool> read_block(const Element& block, const Element& cluster, std::uint64_t cluster_time);
};

base::Result<std::uint64_t> SegmentIndex::Walk::read_ebml_head() {
  const auto head = window.element(0);
  if (!head || head->id != ebml::kEbml || !head->size || *head->size > 4096 || head->end() > window.limit()) {
    return wrong(ErrorCode::malformed, "the file does not begin as Matroska does");
  }
  const std::string type = text_in(window, *head, ebml::kDocType);
  if (type != "matroska" && type != "webm")
    return wrong(ErrorCode::unsupported, fmt::format("an EBML file of type “{}”, not Matroska", type));
  if (number_in(window, *head, ebml::kEbmlReadVersion).value_or(1) > 1 ||
      number_in(window, *head, ebml::kDocTypeReadVersion).value_or(1) > 4) {
    return wrong(ErrorCode::unsupported, "a later version of Matroska than 4");
  }
  return head->end();
}

base::Result<void> SegmentIndex::Walk::read_segment_start(std::uint64_t at) {
  const auto segment = window.element(at);
  if (!segment || segment->id != ebml::kSegment)
    return wrong(ErrorCode::malformed, "no Segment element after the EBML head");
  index.segment_body_ = segment->body;
  index.segment_end_ = segment->size ? segment->end() : UINT64_MAX;
  return base::ok();
}

base::Result<void> SegmentIndex::Walk::read_elements() {
  std::uint64_t at = index.whole_bytes_;
  const std::uint64_t end = std::min(index.segment_end_, window.limit());
  while (at < end) {
    const auto element = window.element(at);
    if (!element || !element->size || element->end() > end || !may_stand_in_a_segment(element->id)) break;
    if (element->id == ebml::kInfo) {
      if (auto read = read_info(*element); !read) return read;
    } else if (element->id == ebml::kTracks) {
      if (auto read = read_tracks(*element); !read) return read;
    } else if (element->id == ebml::kCluster) {
      const std::size_t before = index.frames_.size();
      auto whole = read_cluster(*element);
      if (!whole) return std::move(whole).error();
      if (!*whole) {
        index.frames_.resize(before);
        break;
      }
    }
    at = element->end();
    index.whole_bytes_ = at;
  }
  index.torn_ = index.whole_bytes_ != window.limit();
  index.sealed_ = !index.torn_ && index.segment_end_ == window.limit();
  return base::ok();
}

base::Result<void> SegmentIndex::Walk::read_info(const Element& info) {
  const auto date = child_of(window, info, ebml::kDateUtc);
  const auto since_origin = date ? window.signed_of(*date) : std::nullopt;
  if (!since_origin)
    return wrong(ErrorCode::malformed, "the file does not say when it was recorded (DateUTC)");
  index.head_.date =
      kDateOrigin + std::chrono::floor<base::Microseconds>(std::chrono::nanoseconds{*since_origin});
  index.head_.scale_ns = number_in(window, info, ebml::kTimestampScale).value_or(1'000'000);
  if (index.head_.scale_ns == 0 || index.head_.scale_ns > 1'000'000'000)
    return wrong(ErrorCode::malformed, fmt::format("TimestampScale of {} ns", index.head_.scale_ns));
  index.head_.title = text_in(window, info, ebml::kTitle);
  return base::ok();
}

base::Result<void> SegmentIndex::Walk::read_tracks(const Element& tracks) {
  for (std::uint64_t at = tracks.body; at < tracks.end();) {
    const auto entry = window.element(at);
    if (!entry || !entry->size || entry->end() > tracks.end()) break;
    at = entry->end();
    if (entry->id != ebml::kTrackEntry || text_in(window, *entry, ebml::kCodecId) != "V_MJPEG") continue;
    if (child_of(window, *entry, ebml::kContentEncodings))
      return wrong(ErrorCode::unsupported, "the pictures are compressed once more or encrypted");
    const auto video = child_of(window, *entry, ebml::kVideo);
    const auto width = video ? number_in(window, *video, ebml::kPixelWidth) : std::nullopt;
    const auto height = video ? number_in(window, *video, ebml::kPixelHeight) : std::nullopt;
    const auto number = number_in(window, *entry, ebml::kTrackNumber);
    if (!width || !height || !number || *number == 0 || *width - 1 > 65534 || *height - 1 > 65534)
      return wrong(ErrorCode::malformed, "the motion-JPEG track does not say its number or size");
    index.head_.track = *number;
    index.head_.size = {static_cast<int>(*width), static_cast<int>(*height)};
    return base::ok();
  }
  return wrong(ErrorCode::unsupported, "no motion-JPEG track (V_MJPEG) in the file");
}

base::Result<bool> SegmentIndex::Walk::read_cluster(const Element& cluster) {
  if (index.head_.track == 0 || index.head_.date == base::WallTime{})
    return wrong(ErrorCode::malformed, "frames stand before the head of the file");
  std::optional<std::uint64_t> time;
  for (std::uint64_t at = cluster.body; at < cluster.end();) {
    const auto child = window.element(at);
    if (!child || !child->size || child->end() > cluster.end()) return false;
    if (child->id == ebml::kTimestamp) {
      time = window.unsigned_of(*child);
    } else if (child->id == ebml::kSimpleBlock || child->id == ebml::kBlockGroup) {
      const auto block = child->id == ebml::kBlockGroup ? child_of(window, *child, ebml::kBlock) : child;
      if (!time || !block) return false;
      if (auto read = read_block(*block, cluster, *time); !read || !*read) return read;
    }
    at = child->end();
  }
  return true;
}

base::Result<bool> SegmentIndex::Walk::read_block(const Element& block, const Element& cluster,
                                                  std::uint64_t cluster_time) {
  const auto head = window.bytes(block.body, std::min<std::uint64_t>(*block.size, 11));
  const auto track = ebml::read_vint(head);
  if (!track || head.size() < track->length + 3) return false;
  if (track->value != index.head_.track) return true;
  const auto high = std::to_integer<std::uint16_t>(head[track->length]);
  const auto low = std::to_integer<std::uint16_t>(head[track->length + 1]);
  const auto offset = static_cast<std::int16_t>(high << 8 | low);
  if ((head[track->length + 2] & std::byte{0x06}) != std::byte{0})
    return wrong(ErrorCode::unsupported, "several pictures in one block (lacing)");
  // 128 bits are not needed: a time beyond 24 days is none of ours.
  if (cluster_time > INT32_MAX) return false;
  const std::int64_t ticks = static_cast<std::int64_t>(cluster_time) + offset;
  const std::int64_t at_ms = ticks * static_cast<std::int64_t>(index.head_.scale_ns) / 1'000'000;
  const std::uint64_t front = track->length + 3;
  if (at_ms < 0 || at_ms > INT32_MAX || *block.size - front > kMostFrame_bytes) return false;
  if (index.frames_.size() >= kMost_frames)
    return wrong(ErrorCode::too_large, fmt::format("more than {} frames", kMost_frames));
  index.frames_.push_back({block.body + front, cluster.at, static_cast<std::uint32_t>(*block.size - front),
                           static_cast<std::int32_t>(at_ms)});
  return true;
}

base::Result<SegmentIndex> SegmentIndex::read(const ByteSource& source, std::string_view name) {
  SegmentIndex index;
  Walk walk{index, source, name};
  auto head_end = walk.read_ebml_head();
  if (!head_end) return std::move(head_end).error();
  if (auto start = walk.read_segment_start(*head_end); !start) return std::move(start).error();
  index.whole_bytes_ = index.segment_body_;
  if (auto read = walk.read_elements(); !read) return std::move(read).error();
  if (index.head_.track == 0 || index.head_.date == base::WallTime{})
    return walk.wrong(ErrorCode::malformed, "the head of the file is not whole");
  return index;
}

base::Result<std::size_t> SegmentIndex::extend(const ByteSource& source, std::string_view name) {
  Walk walk{*this, source, name};
  auto head_end = walk.read_ebml_head();
  if (!head_end) return std::move(head_end).error();
  if (auto start = walk.read_segment_start(*head_end); !start) return std::move(start).error();
  const std::size_t before = frames_.size();
  if (auto read = walk.read_elements(); !read) return std::move(read).error();
  return frames_.size() - before;
}

base::Result<std::vector<std::byte>> read_frame(const ByteSource& source, const IndexedFrame& frame) {
  std::vector<std::byte> bytes(frame.size_bytes);
  if (source.read_at(frame.offset, bytes) != bytes.size()) {
    return Error{ErrorCode::io, "read a recorded frame",
                 fmt::format("the file ends before byte {}", frame.offset + frame.size_bytes),
                 "run `rookery archive check`"};
  }
  return bytes;
}

bool cluster_sound(const ByteSource& source, std::uint64_t cluster) {
  ebml::Window window{source};
  const auto element = window.element(cluster);
  if (!element || !element->size || element->end() > window.limit()) return false;
  const auto checksum = window.element(element->body);
  if (!checksum || checksum->id != ebml::kCrc32) return true;
  const auto stored = window.bytes(checksum->body, 4);
  if (checksum->size != 4 || stored.size() != 4 || checksum->end() > element->end()) return false;
  std::uint32_t said = 0;  // little-endian, unlike everything else in EBML
  for (std::size_t i = 4; i-- > 0;) said = said << 8 | std::to_integer<std::uint32_t>(stored[i]);
  if (element->end() - checksum->end() > kMostFrame_bytes + 4096) return false;
  std::vector<std::byte> rest(element->end() - checksum->end());
  return source.read_at(checksum->end(), rest) == rest.size() && ebml::compute_crc32(rest) == said;
}

}  // namespace rookery::archive
