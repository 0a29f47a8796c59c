#include "archive/export.h"

#include "archive/disk.h"
#include "archive/export_writer.h"
#include "archive/recorded_pictures.h"
#include "archive/whole_file.h"
#include "base/log.h"

namespace rookery::archive {
namespace {

using base::Error;
using base::ErrorCode;

// So many intervals tell the recording's own rate.
constexpr std::size_t kRateSamples = 500;

std::string where(const ExportRequest& request) { return request.camera.text() + ": export"; }

base::Result<void> check_request(const ExportRequest& request, const std::filesystem::path& file) {
  const auto wrong = [&](std::string detail, std::string remedy) {
    return Error{ErrorCode::invalid_value, where(request), std::move(detail), std::move(remedy)};
  };
  if (request.to <= request.from) {
    return wrong(fmt::format("the end {} is not after the beginning {}", base::to_rfc3339(request.to),
                             base::to_rfc3339(request.from)),
                 "swap them");
  }
  if (request.to - request.from > std::chrono::hours{24})
    return wrong("the span is longer than 24 h", "export it in parts");
  if (request.frames_per_s != 0 && (request.frames_per_s < 1 || request.frames_per_s > 60)) {
    return wrong(fmt::format("{} frames/s", request.frames_per_s),
                 "give 1 to 60, or none for the recording's own rate");
  }
  std::error_code failed;
  if (std::filesystem::exists(file, failed)) {
    return Error{ErrorCode::already_exists, where(request), file.string() + " exists",
                 "give another name, or remove it first"};
  }
  return base::ok();
}

// The first frame in the span; none when there is none.
base::Result<std::optional<RecordedFrame>> first_in(Playback& playback, const ExportRequest& request) {
  auto frame = playback.seek(request.from);
  if (frame && *frame && (**frame).at < request.from) frame = playback.next();
  while (frame && *frame && (**frame).at < request.from) frame = playback.next();  // clock was set back
  if (frame && *frame && (**frame).at > request.to) return std::optional<RecordedFrame>{};
  return frame;
}

// The median rate of the span's beginning, whole frames a second, 1–60.
base::Result<int> own_rate(Catalog& catalog, const ExportRequest& request) {
  Playback playback{catalog, request.camera};
  auto frame = first_in(playback, request);
  if (!frame) return std::move(frame).error();
  std::vector<base::Microseconds> intervals;
  while (*frame && (**frame).at <= request.to && intervals.size() < kRateSamples) {
    const auto before = (**frame).at;
    frame = playback.next();
    if (!frame) return std::move(frame).error();
    if (*frame && (**frame).at > before) intervals.push_back((**frame).at - before);
  }
  if (intervals.empty()) return 10;
  const auto middle = intervals.begin() + static_cast<std::ptrdiff_t>(intervals.size() / 2);
  std::nth_element(intervals.begin(), middle, intervals.end());
  const double rate = 1e6 / static_cast<double>(middle->count());
  return static_cast<int>(std::clamp(rate + 0.5, 1.0, 60.0));
}

base::Result<std::unique_ptr<ExportWriter>> begin(Catalog& catalog, const ExportRequest& request,
                                                  const std::filesystem::path& file,
                                                  const RecordedFrame& first, ExportResult& result) {
  if (request.format == ExportFormat::matroska)
    return begin_matroska_export(file, request.camera, first, result);
  int rate = request.frames_per_s;
  if (rate == 0) {
    auto own = own_rate(catalog, request);
    if (!own) return std::move(own).error();
    rate = *own;
  }
  return begin_mp4_export(file, request.camera, first, rate, result);
}

// Feeds the span to the writer. `first` is where playback stands.
base::Result<void> feed(Playback& playback, RecordedFrame frame, const ExportRequest& request,
                        ExportWriter& writer, ExportResult& result,
                        const std::function<bool(double)>& progress) {
  result.first = frame.at;
  const double span = static_cast<double>((request.to - request.from).count());
  for (;;) {
    if (result.frames == 0 || frame.at > result.last) {
      if (auto added = writer.add(frame); !added) return added;
      ++result.frames;
      result.last = frame.at;
    } else {
      ++result.overlapping;
    }
    if (!progress(std::clamp(static_cast<double>((frame.at - request.from).count()) / span, 0.0, 0.99)))
      return Error{ErrorCode::cancelled, where(request), "stopped before it was whole"};
    auto next = playback.next();
    if (!next) return std::move(next).error();
    if (!*next || (**next).at > request.to) return base::ok();
    frame = std::move(**next);
  }
}

}  // namespace

base::Result<ExportResult> export_span(Catalog& catalog, const ExportRequest& request,
                                       const std::filesystem::path& file,
                                       const std::function<bool(double)>& progress) {
  if (auto sound = check_request(request, file); !sound) return std::move(sound).error();
  Playback playback{catalog, request.camera};
  auto first = first_in(playback, request);
  if (!first) return std::move(first).error();
  if (!*first) return nothing_recorded(catalog, request.camera, request.from, request.to, where(request));
  WholeFile whole{file, Existing::refuse, "export"};
  ExportResult result;
  auto writer = begin(catalog, request, whole.path(), **first, result);
  if (!writer) return std::move(writer).error();
  if (auto fed = feed(playback, std::move(**first), request, **writer, result, progress); !fed)
    return std::move(fed).error();
  if (auto done = (*writer)->finish(); !done) return std::move(done).error();
  writer->reset();
  std::error_code failed;
  result.bytes = std::filesystem::file_size(whole.path(), failed);
  if (failed) return disk_error(where(request), failed.value());
  if (auto appeared = whole.appear(); !appeared) return std::move(appeared).error();
  progress(1.0);
  if (result.overlapping > 0) {
    base::log_warning(request.camera.text(), "export: {} frames left out whose times are in the file already",
                      result.overlapping);
  }
  return result;
}

}  // namespace rookery::archive
