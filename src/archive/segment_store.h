// Which segments there are, in the catalog.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "archive/catalog.h"
#include "archive/track.h"
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
  // What is asked for by camera is of one track; the rest is of both.
  explicit SegmentStore(Catalog& catalog, Track track = Track::recording)
      : catalog_(catalog), track_(track) {}

  // A new, open segment; its id is ignored. Returns the id it got. Errors: already_exists (the same path).
  base::Result<std::int64_t> add(const Segment& segment);
  // Gives the segment at this path its entry, or sets end, frames, bytes and open of the one it has, later
  // (Catalog::write_later): of several for one path only the newest is written. Its id and `kept` are
  // ignored.
  void note_later(const Segment& segment);
  // Sets start, end, frames, bytes and open at once, for mending. Errors: not_found.
  base::Result<void> set(const Segment& segment);
  // Forgets the entry; the file is the caller's affair. Errors: not_found.
  base::Result<void> remove(std::int64_t id);
  // Likewise, of the entries at these paths that there are.
  base::Result<void> forget(std::span<const std::string> paths);

  // All that overlap [from, to], in order of their start. Where the clock was set back they may overlap each
  // other.
  base::Result<std::vector<Segment>> between(const base::CameraName& camera, base::WallTime from,
                                             base::WallTime to) const;
  // The earliest that starts at or after `from`; the latest that starts at or before `to`.
  base::Result<std::optional<Segment>> first_from(const base::CameraName& camera, base::WallTime from) const;
  base::Result<std::optional<Segment>> last_until(const base::CameraName& camera, base::WallTime to) const;
  base::Result<std::optional<Segment>> find(const std::string& path) const;
  // Those called open: being written, or left so by a crash.
  base::Result<std::vector<Segment>> still_open() const;

  // Closed ones that retention may take, oldest start first: of all cameras; of one and both tracks; of one
  // and this track.
  base::Result<std::vector<Segment>> oldest_unkept(std::size_t most) const;
  base::Result<std::vector<Segment>> oldest_unkept_of_both(const base::CameraName& camera,
                                                           std::size_t most) const;
  base::Result<std::vector<Segment>> oldest_unkept(const base::CameraName& camera, std::size_t most) const;

  // Sums of both tracks, kept up to date by the catalog: their cost does not grow with the number of
  // segments.
  base::Result<std::uint64_t> bytes_of(const base::CameraName& camera) const;
  base::Result<std::uint64_t> count() const;
  base::Result<std::uint64_t> bytes() const;  // of all cameras
  base::Result<std::uint64_t> kept_bytes()
      const;  // of those that a person keeps; its cost grows with the number
  // Every camera that has segments, by name; also those whose settings are gone.
  base::Result<std::vector<base::CameraName>> cameras() const;

  // Spans in [from, to], joined where the gap is at most `gap`. Answers for a day without opening a file.
  base::Result<std::vector<Span>> spans(const base::CameraName& camera, base::WallTime from,
                                        base::WallTime to, base::Milliseconds gap) const;
  // Keeps or lets go every segment that overlaps the span and none of `except`. Returns how many changed. The
  // mark stands beside the file as well (<file>.kept), so that a rebuilt catalog still knows it. Both are on
  // disk when it returns ok. A long span is changed in several transactions; after an error the first of them
  // may have been done. Errors: disk_full, no_permission, io, busy.
  base::Result<std::size_t> set_kept(const base::CameraName& camera, base::WallTime from, base::WallTime to,
                                     bool kept, std::span<const Span> except = {});

  // For use inside a transaction of the caller's (Catalog::write), as when the catalog is made anew.
  static std::int64_t insert(SQLite::Database& db, const Segment& segment);

 private:
  int stills() const { return track_ == Track::stills ? 1 : 0; }

  Catalog& catalog_;
  Track track_;
};

}  // namespace rookery::archive
