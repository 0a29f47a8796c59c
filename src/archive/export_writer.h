// Inner: what export_span() feeds the frames of a span to.
#pragma once

#include <filesystem>
#include <memory>

#include "archive/export.h"
#include "archive/playback.h"

namespace rookery::archive {

class ExportWriter {
 public:
  virtual ~ExportWriter() = default;
  // Frames come with strictly growing times.
  virtual base::Result<void> add(const RecordedFrame& frame) = 0;
  virtual base::Result<void> finish() = 0;
};

// Both make `file` anew and count what they leave out into `result`, which outlives them.
base::Result<std::unique_ptr<ExportWriter>> begin_matroska_export(const std::filesystem::path& file,
                                                                  const base::CameraName& camera,
                                                                  const RecordedFrame& first,
                                                                  ExportResult& result);
// `frames_per_s`: 1–60.
base::Result<std::unique_ptr<ExportWriter>> begin_mp4_export(const std::filesystem::path& file,
                                                             const base::CameraName& camera,
                                                             const RecordedFrame& first, int frames_per_s,
                                                             ExportResult& result);

// The size that a recorded JPEG says of itself. Errors: damaged.
base::Result<camera::PixelSize> size_of(const RecordedFrame& frame);

}  // namespace rookery::archive
