// Playback: the recorded frame at or after a moment, the one before, the one after; across segments and gaps.
#pragma once

#include <memory>
#include <optional>

#include "archive/catalog.h"
#include "archive/track.h"
#include "base/name.h"
#include "camera/frame.h"

namespace rookery::archive {

// A recorded frame: its own bytes and its wall-clock time, to the millisecond.
struct RecordedFrame {
  base::WallTime at;
  std::vector<std::byte> bytes;

  RecordedFrame(base::WallTime at_, std::vector<std::byte> bytes_) : at(at_), bytes(std::move(bytes_)) {}
};

// A cursor over one track of a camera's recording. Not any-thread: one user at a time; reads files, so it
// belongs on a worker thread, never on an I/O thread. Holds at most two open files and their frame indexes.
// Also reads segments that are still being written.
class Playback {
 public:
  Playback(Catalog& catalog, base::CameraName camera, Track track = Track::recording);
  ~Playback();

  // The frame whose time is the greatest not after `at`; when there is none, the first after it. Null: no
  // recording.
  base::Result<std::optional<RecordedFrame>> seek(base::WallTime at);
  // The frame after / before the one last returned; null at the end / start.
  base::Result<std::optional<RecordedFrame>> next();
  base::Result<std::optional<RecordedFrame>> previous();
  // Like seek, but only tells the time, without reading the frame's bytes.
  base::Result<std::optional<base::WallTime>> peek_next();
  base::Result<std::optional<base::WallTime>> peek_previous();
  // Like seek and next, but the frame's bytes stay on the disk until read() asks for them: for who wants few
  // of many, or wants to go on behind a frame that cannot be read. Return its time.
  base::Result<std::optional<base::WallTime>> place_at(base::WallTime at);
  base::Result<std::optional<base::WallTime>> step();
  // The frame that one of the calls above went to last. Errors: not_found (none did), io.
  base::Result<RecordedFrame> read();

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace rookery::archive
