#include "station/export_room.h"

#include <fmt/format.h>

#include "archive/segment_store.h"
#include "base/bytes.h"
#include "station/troubles.h"

namespace rookery::station {
namespace {

std::uint64_t minus(std::uint64_t a, std::uint64_t b) { return a - std::min(a, b); }

}  // namespace

ExportRoom export_room(const ExportLimits& limits, const archive::DiskSpace& space, std::uint64_t others,
                       std::uint64_t already) {
  ExportRoom room;
  room.free_bytes = space.free_bytes;
  room.floor_bytes = free_goal(space, limits.keep_free_bytes) / 2;
  room.by_bound = minus(limits.most_bytes, others);
  room.by_disk = already + minus(space.free_bytes, room.floor_bytes);
  return room;
}

base::Error no_room(const ExportRoom& room, const ExportLimits& limits, std::uint64_t needed_bytes) {
  if (needed_bytes > room.by_bound) {
    return {
        base::ErrorCode::too_large, "export",
        fmt::format("it needs {:.1f} MB, and all exports together may take {:.1f} MB",
                    base::megabytes(needed_bytes), base::megabytes(limits.most_bytes)),
        "Export it in pieces, or write it elsewhere with `rookery export`; exports_gib in rookery.toml sets "
        "the bound."};
  }
  return {
      base::ErrorCode::disk_full, "export",
      fmt::format("it needs {:.1f} MB; {:.1f} MB of the disk are free, of which {:.1f} MB stay free for the "
                  "recordings",
                  base::megabytes(needed_bytes), base::megabytes(room.free_bytes),
                  base::megabytes(room.floor_bytes)),
      "Export it in pieces, write it to another disk with `rookery export`, or free some space."};
}

std::uint64_t estimate_bytes(archive::Catalog& catalog, const archive::ExportRequest& request) {
  if (request.format != archive::ExportFormat::matroska) return 0;
  const auto segments = archive::SegmentStore(catalog).between(request.camera, request.from, request.to);
  if (!segments) return 0;
  double bytes = 0;
  for (const archive::Segment& segment : *segments) {
    const double length = static_cast<double>((segment.end - segment.start).count());
    const double inside = static_cast<double>(
        (std::min(segment.end, request.to) - std::max(segment.start, request.from)).count());
    const double share = length > 0 ? std::clamp(inside / length, 0.0, 1.0) : 1.0;
    bytes += static_cast<double>(segment.bytes) * share;
  }
  return static_cast<std::uint64_t>(bytes);
}

}  // namespace rookery::station
