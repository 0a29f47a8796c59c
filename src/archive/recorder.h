// Recorder: writes the frames of all cameras into Matroska segments. Never blocks a frame's way, never drops
// silently.
#pragma once

#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>

#include "archive/catalog.h"
#include "archive/disk.h"
#include "archive/track.h"
#include "base/name.h"
#include "camera/frame.h"

namespace rookery::archive {

class Retention;

struct RecorderOptions {
  std::chrono::seconds segment_length{600};      // cut at multiples of this on the wall clock
  std::chrono::seconds stills_length{3600};      // the same, of jobs' stills
  std::chrono::milliseconds flush_within{1000};  // nothing older than this is only in memory
  std::size_t queue_most_bytes = 64u << 20;      // for all cameras together, while the disk stalls
  std::uint64_t keep_free_bytes = 1ull << 30;    // retention keeps this much of the disk free
  std::chrono::milliseconds retry_every{1000};   // while the disk is full
  Disk* disk = nullptr;                          // borrowed; null: the computer's own
  Retention* retention = nullptr;                // borrowed; null: one of the recorder's own
};

// What became of one camera's frames. Always: taken = written + lost + queued.
struct RecorderCounters {
  std::uint64_t taken = 0;
  std::uint64_t written = 0;
  std::uint64_t lost = 0;  // queue full or disk failing; logged with the reason
  std::uint64_t queued = 0;
  std::uint64_t bytes_written = 0;  // of JPEG
};

// How often a flush came later than RecorderOptions::flush_within because the disk was still at the one
// before, and the longest time between two.
struct LateFlushes {
  std::uint64_t flushes = 0;
  std::chrono::milliseconds longest{0};
};

// A camera's segment ends, and the next frame begins a new one, when the picture's size changes, at multiples
// of segment_length, when wall and monotonic clock come apart by more than a second (the clock was set), and
// after a gap that is long for this camera (5 s, or eight times its usual interval): so the catalog shows
// gaps without opening a file.
//
// When the disk is full, retention runs; where nothing else may go, all segments in work are ended as they
// are, so that retention may take the oldest of those. The frame at hand is tried again every retry_every
// while the queue takes in what it can; frames that find the queue full are lost and counted. When a file
// fails otherwise, its segment is closed as a crash would leave it, mended, and the next one begun.
//
// any-thread. One writer thread of its own, and one that waits for the disk's flushes.
class Recorder {
 public:
  // `catalog` and `clock` are borrowed and outlive the recorder.
  Recorder(Catalog& catalog, RecorderOptions options, const base::Clock& clock);
  ~Recorder();  // writes what is queued, closes the segments
  Recorder(const Recorder&) = delete;
  Recorder& operator=(const Recorder&) = delete;

  // Takes one frame. Returns at once.
  void record(const base::CameraName& camera, camera::FramePtr frame, Track track = Track::recording);

  // Closes the segment after what is queued (recording switched off, camera removed, job over).
  void finish(const base::CameraName& camera, Track track = Track::recording);

  // Returns when everything taken before is written, flushed to the medium and told to the catalog; or at
  // once while the disk is full.
  void flush();

  // Of both tracks together.
  RecorderCounters counters(const base::CameraName& camera) const;
  LateFlushes late_flushes() const;

  // Recording waits for room on the disk: since when, and how much is held in memory meanwhile. None while it
  // does not.
  struct Waiting {
    base::WallTime since;
    std::size_t queued_bytes = 0;
    std::uint64_t lost_since = 0;  // frames, of all cameras
  };
  std::optional<Waiting> waiting_for_room() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace rookery::archive
