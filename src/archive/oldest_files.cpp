// remove_oldest_files: retention without a catalog.
#include <algorithm>

#include "archive/retention.h"
#include "archive/segment_path.h"
#include "base/log.h"

namespace rookery::archive {
namespace {

struct Candidate {
  std::string age;   // "2026-03-01/120000.000Z.mkv": sorts by time, whatever the camera
  std::string path;  // below the archive
};

std::vector<Candidate> unmarked_segments(const std::filesystem::path& archive) {
  std::vector<Candidate> found;
  for (const std::string& path : list_segment_files(archive)) {
    if (!has_kept_mark(archive / path)) found.push_back({path.substr(path.find('/') + 1), path});
  }
  std::ranges::sort(found, {}, &Candidate::age);
  return found;
}

}  // namespace

std::vector<std::string> remove_oldest_files(const std::filesystem::path& home, std::uint64_t wanted_bytes,
                                             Disk& disk) {
  const auto archive = archive_folder(home);
  const auto space = disk.space(home);
  const std::uint64_t wanted = space ? std::min(wanted_bytes, space->total_bytes / 8) : wanted_bytes;
  std::vector<std::string> removed;
  std::uint64_t freed = 0;
  for (const Candidate& candidate : unmarked_segments(archive)) {
    if (freed >= wanted) break;
    const auto file = archive / candidate.path;
    if (is_being_written(file)) continue;
    std::error_code unknown;
    const auto bytes = std::filesystem::file_size(file, unknown);
    if (auto gone = disk.remove(file); !gone) {
      base::log_error("retention", "{}", gone.error().text());
      continue;
    }
    if (!unknown) freed += bytes;
    removed.push_back(candidate.path);
    base::log_warning("retention", "removed {}: the disk had no room left for the catalog", candidate.path);
  }
  return removed;
}

}  // namespace rookery::archive
