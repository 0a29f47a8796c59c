#include "archive/mend.h"

#include <bit>
#include <cerrno>

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include "archive/disk.h"
#include "archive/ebml.h"

namespace rookery::archive {
namespace {

using base::Error;
using base::ErrorCode;
using ebml::Element;

// After a power cut, file systems that write sizes before data leave zeros or old bytes at the end. A
// second's worth can be unflushed, more where the disk was late; what is unsound before that was not left by
// the crash, and cutting there would throw good frames after one bad one (the check tells of it).
constexpr std::int32_t kUnflushedMost_ms = 5000;

// A file open for patching.
struct Patient {
  int descriptor;
  std::string name;

  base::Result<void> write(std::uint64_t at, std::span<const std::byte> bytes) const {
    const ssize_t done = ::pwrite(descriptor, bytes.data(), bytes.size(), static_cast<off_t>(at));
    if (done != static_cast<ssize_t>(bytes.size()))
      return disk_error(name + ": mend", done < 0 ? errno : ENOSPC);
    return base::ok();
  }
};

void put_big_endian(std::span<std::byte> out, std::uint64_t value) {
  for (std::size_t i = out.size(); i-- > 0; value >>= 8) out[i] = static_cast<std::byte>(value);
}

// Where the whole, sound part of the file ends, looking only at the last clusters.
std::uint64_t sound_end(const ByteSource& source, const SegmentIndex& index) {
  const auto frames = index.frames();
  std::uint64_t end = index.whole_bytes();
  for (std::size_t i = frames.size();
       i-- > 0 && frames.back().at_ms - frames[i].at_ms <= kUnflushedMost_ms;) {
    if (!cluster_sound(source, frames[i].cluster)) end = frames[i].cluster;
  }
  return end;
}

// The Info element anew, with the duration put where the writer left a hole for it (a Void of 11 bytes) or
// where it stood. Empty when there is no such place.
std::vector<std::byte> info_with_duration(const ByteSource& source, const Element& info, double duration) {
  std::vector<std::byte> body(*info.size);
  if (body.size() > 65536 || source.read_at(info.body, body) != body.size()) return {};
  const MemorySource memory{body};
  ebml::Window window{memory};
  std::optional<Element> checksum;
  bool placed = false;
  for (std::uint64_t at = 0; at < body.size();) {
    const auto child = window.element(at);
    if (!child || !child->size || child->end() > body.size()) return {};
    if (child->id == ebml::kCrc32 && child->size == 4) checksum = child;
    const bool hole = child->id == ebml::kVoid && child->end() - child->at == 11;
    if (!placed && (hole || (child->id == ebml::kDuration && child->size == 8))) {
      auto place = std::span{body}.subspan(child->at, 11);
      if (hole) {
        place[0] = std::byte{0x44};
        place[1] = std::byte{0x89};
        place[2] = std::byte{0x88};
      }
      put_big_endian(place.last(8), std::bit_cast<std::uint64_t>(duration));
      placed = true;
      at = child->at + 11;
      continue;
    }
    at = child->end();
  }
  if (!placed) return {};
  if (checksum) {
    std::uint32_t sum = ebml::compute_crc32(std::span{body}.subspan(checksum->end()));
    for (std::size_t i = 0; i < 4; ++i, sum >>= 8) body[checksum->body + i] = static_cast<std::byte>(sum);
  }
  return body;
}

// A SeekHead may point to the index that was just cut off: becomes a Void of the same length.
base::Result<void> void_out(const Patient& patient, const Element& element) {
  const std::uint64_t whole = element.end() - element.at;
  if (whole < 9) return base::ok();
  std::array<std::byte, 9> head{std::byte{ebml::kVoid}};
  put_big_endian(std::span{head}.subspan(1), whole - 9);
  head[1] = std::byte{0x01};
  return patient.write(element.at, head);
}

// The length of Segment, where the writer wrote "unknown" in eight bytes.
base::Result<void> patch_segment_size(const Patient& patient, const Element& segment,
                                      std::uint64_t file_size) {
  if (segment.body - segment.at != 12) return base::ok();
  std::array<std::byte, 8> size{};
  put_big_endian(size, file_size - segment.body);
  size[0] = std::byte{0x01};
  return patient.write(segment.at + 4, size);
}

base::Result<void> patch_head(const Patient& patient, const ByteSource& source, const SegmentIndex& index,
                              std::uint64_t file_size, bool seek_head_lies) {
  ebml::Window window{source};
  const auto ebml_head = window.element(0);
  const auto segment = ebml_head ? window.element(ebml_head->end()) : std::nullopt;
  if (!segment) return base::ok();
  const auto frames = index.frames();
  const std::int32_t last = frames.back().at_ms;
  // A frame lasts until the next; the last one is given as long as the one before. RFC 9559 section 5.1.2.10:
  // Duration is greater than 0.
  const std::int32_t step = frames.size() > 1 ? last - frames[frames.size() - 2].at_ms : 1;
  const double duration = (last + std::max(step, 1)) * 1e6 / static_cast<double>(index.head().scale_ns);
  for (std::uint64_t at = segment->body; at < file_size;) {
    const auto element = window.element(at);
    if (!element || !element->size || element->id == ebml::kCluster) break;
    if (element->id == ebml::kSeekHead && seek_head_lies) {
      if (auto done = void_out(patient, *element); !done) return done;
    }
    if (element->id == ebml::kInfo) {
      const auto info = info_with_duration(source, *element, duration);
      if (!info.empty()) {
        if (auto done = patient.write(element->body, info); !done) return done;
      }
    }
    at = element->end();
  }
  return patch_segment_size(patient, *segment, file_size);
}

}  // namespace

base::Result<MendedFile> mend_file(const std::filesystem::path& file, MendLock lock) {
  base::Descriptor handle{::open(file.c_str(), O_RDWR | O_CLOEXEC)};
  if (!handle) return disk_error(file.string() + ": mend", errno);
  if (lock == MendLock::take && ::flock(handle.get(), LOCK_EX | LOCK_NB) != 0)
    return disk_error(file.string() + ": mend", errno);
  const Patient patient{handle.get(), file.string()};
  const FileSource source{std::move(handle)};
  const std::uint64_t size_before = source.size();
  auto index = SegmentIndex::read(source, patient.name);
  const std::uint64_t end = index ? sound_end(source, *index) : 0;
  if (!index || index->frames().empty() || end <= index->frames().front().cluster) {
    return Error{ErrorCode::damaged, patient.name + ": mend",
                 index ? "not one whole frame is in the file" : index.error().detail};
  }
  if (index->sealed() && end == size_before) return MendedFile{std::move(index).value(), size_before, 0};
  if (end < size_before && ::ftruncate(patient.descriptor, static_cast<off_t>(end)) != 0)
    return disk_error(patient.name + ": cut back", errno);
  index = SegmentIndex::read(source, patient.name);
  if (!index) return std::move(index).error();
  if (auto patched = patch_head(patient, source, *index, end, end < size_before); !patched)
    return std::move(patched).error();
  if (::fdatasync(patient.descriptor) != 0) return disk_error(patient.name + ": flush", errno);
  return MendedFile{std::move(index).value(), end, size_before - end};
}

}  // namespace rookery::archive
