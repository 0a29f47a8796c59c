// MatroskaWriter: one camera's JPEG frames into one Matroska file (RFC 9559), frame by frame, so that a crash
// at any moment costs at most the frame being written. Layout and recovery: docs/formats/segment.md.
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <string>

#include "archive/disk.h"
#include "base/result.h"
#include "base/time.h"
#include "camera/frame.h"

namespace rookery::archive {

// What the head of a segment says.
struct SegmentTraits {
  std::string title;    // the camera's name
  base::WallTime date;  // DateUTC: the moment that the times of the frames count from; whole milliseconds
  camera::PixelSize size;
};

// One user at a time.
class MatroskaWriter {
 public:
  // Prepares the head; it is written together with the first frame, so that no file without a frame appears.
  // `file` is empty; shared because another thread may sync it. Errors: invalid_value (size), io.
  static base::Result<std::unique_ptr<MatroskaWriter>> begin(std::shared_ptr<DiskFile> file,
                                                             const SegmentTraits& traits);
  ~MatroskaWriter();
  MatroskaWriter(const MatroskaWriter&) = delete;
  MatroskaWriter& operator=(const MatroskaWriter&) = delete;

  // Writes one frame as a cluster of its own, in one write. `at`: since the date, not before the frame
  // before. Borrows `jpeg` for the call. Errors: disk_full, io: the frame is then pending. Call retry() until
  // it is written, or abandon().
  base::Result<void> add(base::Milliseconds at, std::span<const std::byte> jpeg);

  // Writes what the last call could not.
  base::Result<void> retry();

  // Writes the index and the sizes; nothing may be added afterwards. Errors as add(); retry() continues.
  base::Result<void> finish();

  // Gives up what is pending and cuts the file back to its last whole frame. The file then is what a crash
  // would have left: mend_segment() (mend.h) makes it as good as a finished one, but for the index.
  base::Result<void> abandon();

  std::uint64_t bytes() const;   // in the file, whole clusters only
  std::uint64_t frames() const;  // likewise
  bool pending() const;          // something waits for retry()
  const std::shared_ptr<DiskFile>& file() const&;
  const std::shared_ptr<DiskFile>& file() const&& = delete;

 private:
  MatroskaWriter();
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace rookery::archive
