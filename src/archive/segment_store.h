// Which segments there are, in the catalog.
#pragma once

#include <optional>
#include <vector>

#include "archive/catalog.h"
#include "base/name.h"

namespace rookery::archive {

// One recorded file. Times are wall clock; `end` is the time of its last frame.
struct Segment {
  std::int64_t id = 0;
  base::CameraName camera;
  std::string path;  // below <home>/archive, "anvil/2026-03-01/120000.000Z.mkv"
  base::WallTime start;
  base::WallTime end;
  std::uint64_t frames = 0;
  std::uint64_t bytes = 0;
  bool open = false;  // being written
  bool kept = false;  // protected from retention by a person

  explicit Segment(base::CameraName camera_) : camera(std::move(camera_)) {}
};

// A span of recording without a gap longer than `gap`.
struct Span {
  base::WallTime from;
  base::WallTime to;
  bool operator==(const Span&) const = default;
};

// any-thread.
class SegmentStore {
 public:
  explicit SegmentStore(Catalog& catalog) : catalog_(catalog) {}

  base::Result<std::int64_t> add(const Segment& segment);  // a new, open segment; id is ignored
  void grow_later(const Segment& segment);                 // end, frames, bytes, open: queued
  base::Result<void> remove(std::int64_t id);
  base::Result<std::vector<Segment>> between(const base::CameraName& camera, base::WallTime from,
                                             base::WallTime to) const;
  base::Result<std::optional<Segment>> first_from(const base::CameraName& camera, base::WallTime from) const;
  base::Result<std::optional<Segment>> last_until(const base::CameraName& camera, base::WallTime to) const;
  base::Result<std::vector<Segment>> oldest_unkept(
      std::size_t most) const;  // of all cameras, closed ones only
  base::Result<std::vector<Segment>> oldest_unkept(const base::CameraName& camera, std::size_t most) const;
  base::Result<std::uint64_t> bytes_of(const base::CameraName& camera) const;
  // Spans in [from, to], joined where the gap is at most `gap`. Answers for a day without opening a file.
  base::Result<std::vector<Span>> spans(const base::CameraName& camera, base::WallTime from,
                                        base::WallTime to, base::Milliseconds gap) const;
  // Keeps or lets go every segment that overlaps the span. Returns how many changed. The mark stands beside
  // the file as well (<file>.kept), so that a rebuilt catalog still knows it.
  base::Result<std::size_t> set_kept(const base::CameraName& camera, base::WallTime from, base::WallTime to,
                                     bool kept);
  base::Result<std::uint64_t> count() const;

 private:
  Catalog& catalog_;
};

}  // namespace rookery::archive
