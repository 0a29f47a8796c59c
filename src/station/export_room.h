// How much room an export has: the bound on all exports together, and what stays free on the disk.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>

#include "archive/disk.h"
#include "archive/export.h"
#include "station/exports.h"

namespace rookery::station {

// Of one moment. immutable value.
struct ExportRoom {
  std::uint64_t by_bound = 0;  // what the bound leaves
  std::uint64_t by_disk = 0;   // what the disk leaves
  std::uint64_t free_bytes = 0;
  std::uint64_t floor_bytes = 0;  // stays free

  std::uint64_t most() const { return std::min(by_bound, by_disk); }
};

// `others`: what the other exports take; `already`: what this one has written. Both count as free when they
// are taken away before.
ExportRoom export_room(const ExportLimits& limits, const archive::DiskSpace& space, std::uint64_t others,
                       std::uint64_t already);

// Why `needed_bytes` do not fit, with the numbers. Errors made: too_large, disk_full.
base::Error no_room(const ExportRoom& room, const ExportLimits& limits, std::uint64_t needed_bytes);

// About how many bytes the export will have: that of Matroska from what the catalog says of the span, 0 for
// MP4, which nobody knows before.
std::uint64_t estimate_bytes(archive::Catalog& catalog, const archive::ExportRequest& request);

}  // namespace rookery::station
