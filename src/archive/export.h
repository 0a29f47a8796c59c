// Export: a span of one camera's recording as a file that any player plays.
#pragma once

#include <filesystem>
#include <functional>

#include "archive/catalog.h"
#include "base/name.h"

namespace rookery::archive {

enum class ExportFormat {
  matroska,  // the board's own JPEG frames, not re-encoded, with their own times
  mp4,       // H.264, yuv420p, constant frame rate, faststart; gaps are held pictures up to 1 s, then cut
};

struct ExportRequest {
  base::CameraName camera;
  base::WallTime from;
  base::WallTime to;  // after `from`, at most 24 h later
  ExportFormat format = ExportFormat::matroska;
  int frames_per_s = 0;  // mp4 only: 1–60; 0 takes the recording's own median rate

  ExportRequest(base::CameraName camera_, base::WallTime from_, base::WallTime to_, ExportFormat format_)
      : camera(std::move(camera_)), from(from_), to(to_), format(format_) {}
};

struct ExportResult {
  std::uint64_t frames = 0;
  std::uint64_t bytes = 0;
  base::WallTime first;
  base::WallTime last;
  // Pauses longer than 1 s that an mp4 leaves out (a Matroska file keeps them as they were), and how long
  // they were together without the 1 s that is held of each.
  std::size_t gaps_cut = 0;
  base::Milliseconds cut_time{0};
  // Frames left out because the clock had been set back and their time is in the file already.
  std::uint64_t overlapping = 0;
  // Frames whose size differs from the first one's: in Matroska they stand as they are, in mp4 they are
  // scaled and framed in black.
  std::uint64_t resized = 0;
};

// Writes `file` (through a temporary name beside it; it appears only when whole). `progress` gets 0–1 and
// returns false to cancel. Never replaces a file. Blocks: call it on a worker thread. Errors: not_found
// (nothing recorded in the span, with the nearest recording), invalid_value, already_exists, disk_full,
// no_permission, cancelled.
base::Result<ExportResult> export_span(Catalog& catalog, const ExportRequest& request,
                                       const std::filesystem::path& file,
                                       const std::function<bool(double)>& progress);

}  // namespace rookery::archive
