// What a segment's index lists does not outlive the index.
// uses: rookery_archive
// expect: deleted.*head
// expect: deleted.*frames
#include "archive/segment_index.h"

rookery::archive::SegmentIndex index_of();

#ifdef WRONG
const rookery::archive::SegmentHead& head() { return index_of().head(); }
std::span<const rookery::archive::IndexedFrame> frames() { return index_of().frames(); }
#else
std::size_t count() {
  const auto kept = index_of();
  return kept.head().track + kept.frames().size();
}
#endif
