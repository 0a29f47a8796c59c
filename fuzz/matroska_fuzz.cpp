// Whatever bytes come, the index ends, stays inside them, and does not depend on how a growing file was read.
#include <cstdint>
#include <span>

#include "archive/segment_index.h"
#include "fuzz/promise.h"

namespace {

using rookery::archive::MemorySource;
using rookery::archive::SegmentIndex;
using rookery::fuzz::require;

void check_index(const MemorySource& source, const SegmentIndex& index) {
  require(index.whole_bytes() <= source.size(), "the index stays inside the file");
  std::size_t proven = 0;
  for (const auto& frame : index.frames()) {
    require(frame.cluster < frame.offset, "a frame lies in its cluster");
    require(frame.offset + frame.size_bytes <= index.whole_bytes(), "a frame is whole");
    require(frame.at_ms >= 0, "no frame is before the beginning");
    if (++proven > 16) continue;
    require(rookery::archive::read_frame(source, frame).has_value(), "what is listed can be read");
    (void)rookery::archive::cluster_sound(source, frame.cluster);
  }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto bytes = std::as_bytes(std::span(data, size));
  const MemorySource whole{bytes};
  const auto at_once = SegmentIndex::read(whole, "fuzz");
  if (at_once) check_index(whole, *at_once);
  // The last byte says where the file ended when it was first looked at.
  const std::size_t first_look = size == 0 ? 0 : size * data[size - 1] / 255;
  auto grown = SegmentIndex::read(MemorySource{bytes.first(first_look)}, "fuzz");
  if (!grown) return 0;
  const auto rest = grown->extend(whole, "fuzz");
  require(rest.has_value() == at_once.has_value(), "a growing file is read as a whole one");
  if (!rest) return 0;
  require(grown->whole_bytes() == at_once->whole_bytes(), "… as far");
  require(std::equal(grown->frames().begin(), grown->frames().end(), at_once->frames().begin(),
                     at_once->frames().end()),
          "… with the same frames");
  return 0;
}
