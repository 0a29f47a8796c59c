// Inner: one camera's open segment: when it is cut, what the catalog is told, what happens when its file
// fails.
#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "archive/disk.h"
#include "archive/matroska_writer.h"
#include "archive/segment_cut.h"
#include "archive/segment_store.h"
#include "archive/syncer.h"
#include "archive/track.h"

namespace rookery::archive {

// What all tracks of a recorder share. Borrowed; outlives them.
struct TrackPlace {
  Catalog& catalog;
  Disk& disk;
  const base::Clock& clock;
  std::filesystem::path archive;
  std::chrono::seconds segment_length;
  std::chrono::seconds stills_length;
  Unsynced& unsynced;               // gets what was written and what is finished
  std::function<void()> make_room;  // runs retention once

  std::chrono::seconds length_of(Track track) const {
    return track == Track::stills ? stills_length : segment_length;
  }
};

// strand-bound: the recorder's thread.
class CameraTrack {
 public:
  CameraTrack(const base::CameraName& camera, Track track, TrackPlace& place);
  ~CameraTrack();  // closes the segment
  CameraTrack(const CameraTrack&) = delete;
  CameraTrack& operator=(const CameraTrack&) = delete;

  // Writes the frame, cutting before it where that is due. After an error the same frame may be given again
  // (it is then continued where it failed), or give_up() called. Errors: disk_full, no_permission, io,
  // invalid_value.
  base::Result<void> write(const camera::Frame& frame);

  // Forgets the frame that failed, if one did, and closes the segment as far as it is whole, without an
  // index: that needs no room on the disk.
  void give_up();

  // Finishes the segment, if one is open.
  void close();

  // Whether a segment is being written.
  bool is_open() const { return writer_ != nullptr; }

  // Now and then: closes when no frame comes, tells the catalog how far the segment has grown. `idle`:
  // nothing of this camera was waiting to be written when the clocks read this.
  void tick(base::WallTime wall, base::MonoTime mono, bool idle);

  // Tells the catalog now, later (Catalog::write_later).
  void tell_catalog();

 private:
  base::Result<void> begin(const camera::Frame& frame);
  base::Milliseconds time_of(const camera::Frame& frame) const;
  void wrote(const camera::Frame& frame);
  void leave(bool finished);

  base::Microseconds gap_limit() const;

  const base::CameraName camera_;
  const Track track_;
  TrackPlace& place_;
  std::unique_ptr<MatroskaWriter> writer_;
  Segment segment_;
  SegmentSoFar so_far_;
  base::Milliseconds last_at_{-1};
  UsualInterval usual_;
  std::optional<base::MonoTime> last_mono_;
  base::MonoTime told_;
};

}  // namespace rookery::archive
