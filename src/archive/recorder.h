// Recorder: writes the frames of all cameras into Matroska segments. Never blocks a frame's way, never drops
// silently.
#pragma once

#include <chrono>
#include <cstdint>
#include <memory>

#include "archive/catalog.h"
#include "base/name.h"
#include "camera/frame.h"

namespace rookery::archive {

struct RecorderOptions {
  std::chrono::seconds segment_length{600};      // cut at multiples of this on the wall clock
  std::chrono::milliseconds flush_within{1000};  // nothing older than this is only in memory
  std::size_t queue_most_bytes = 64u << 20;      // for all cameras together, while the disk stalls
  std::uint64_t keep_free_bytes = 1ull << 30;    // retention keeps this much of the disk free
};

// What became of one camera's frames. Always: taken = written + lost + queued.
struct RecorderCounters {
  std::uint64_t taken = 0;
  std::uint64_t written = 0;
  std::uint64_t lost = 0;  // queue full or disk failing; logged with the reason
  std::uint64_t queued = 0;
  std::uint64_t bytes_written = 0;
};

// any-thread. One writer thread of its own.
class Recorder {
 public:
  Recorder(Catalog& catalog, RecorderOptions options, const base::Clock& clock);
  ~Recorder();  // writes what is queued, closes the segments
  Recorder(const Recorder&) = delete;
  Recorder& operator=(const Recorder&) = delete;

  // Takes one frame. Returns at once.
  void record(const base::CameraName& camera, camera::FramePtr frame);

  // Closes the camera's segment after what is queued (recording switched off, camera removed).
  void finish(const base::CameraName& camera);

  // Returns when everything taken before is written and flushed to the file.
  void flush();

  RecorderCounters counters(const base::CameraName& camera) const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace rookery::archive
