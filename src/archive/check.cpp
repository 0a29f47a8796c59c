// check(): every segment read through, and the catalog held against the disk.
#include <set>

#include "archive/byte_source.h"
#include "archive/disk.h"
#include "archive/home_lock.h"
#include "archive/segment_index.h"
#include "archive/segment_path.h"
#include "archive/upkeep.h"
#include "jpeg/walk.h"

namespace rookery::archive {
namespace {

// RFC 3339 has years of four digits.
constexpr base::WallTime kEarliest{};
constexpr base::WallTime kLatest{std::chrono::sys_days{std::chrono::year{9999} / 12 / 31}};

struct Seen {
  std::uint64_t frames = 0;
  std::string fault;
};

std::string fault_of_frame(const FileSource& source, const SegmentIndex& index, std::size_t number) {
  const IndexedFrame& frame = index.frames()[number];
  const auto when = base::to_rfc3339(index.time_of(number));
  if (number > 0 && frame.at_ms <= index.frames()[number - 1].at_ms)
    return fmt::format("the frame at {} is not later than the one before", when);
  auto bytes = read_frame(source, frame);
  if (!bytes) return fmt::format("the frame at {} cannot be read: {}", when, bytes.error().detail);
  const auto walked = jpeg::walk(*bytes);
  if (const auto* broken = std::get_if<jpeg::BrokenKind>(&walked))
    return fmt::format("the frame at {} is damaged: {}", when, jpeg::name_of(*broken));
  if (!cluster_sound(source, frame.cluster))
    return fmt::format("the frame at {} does not match its checksum", when);
  return {};
}

Seen look_into(const std::filesystem::path& file, bool being_written) {
  Seen seen;
  auto source = FileSource::open(file);
  if (!source) {
    seen.fault = source.error().code == base::ErrorCode::not_found
                     ? "it is in the catalog but not on the disk"
                     : fmt::format("it cannot be read: {}", source.error().detail);
    return seen;
  }
  auto index = SegmentIndex::read(*source, file.string());
  if (!index) {
    seen.fault = index.error().detail;
    return seen;
  }
  for (std::size_t i = 0; i < index->frames().size(); ++i) {
    seen.fault = fault_of_frame(*source, *index, i);
    if (!seen.fault.empty()) return seen;
    ++seen.frames;
  }
  if (being_written || index->sealed()) return seen;
  seen.fault = index->torn()
                   ? fmt::format("after byte {} the file holds no whole frame", index->whole_bytes())
                   : "a crash left it without an end; the next start of the station mends it";
  return seen;
}

std::string disagreement(const Segment& entry, const Seen& seen, const std::filesystem::path& file) {
  std::error_code failed;
  const std::uint64_t bytes = std::filesystem::file_size(file, failed);
  if (seen.frames != entry.frames)
    return fmt::format("the catalog says {} frames, the file holds {}", entry.frames, seen.frames);
  if (failed || bytes != entry.bytes)
    return fmt::format("the catalog says {} bytes, the file has {}", entry.bytes, bytes);
  return {};
}

// A station that runs has told the catalog of every segment within this time, unless the disk is full for
// longer.
constexpr std::chrono::minutes kEntryWithin{1};

class Check {
 public:
  Check(Catalog& catalog, const std::function<bool(const CheckedSegment&)>& each)
      : store_(catalog),
        archive_(archive_folder(catalog.home())),
        station_runs_(HomeLock::is_taken(catalog.home())),
        each_(each) {}

  // False when the caller wants no more.
  base::Result<bool> entries_of(const base::CameraName& camera);
  bool files_without_entry();
  CheckReport& report() { return report_; }

 private:
  bool tell(const std::string& path, Seen seen) {
    CheckedSegment checked{path, seen.frames, std::move(seen.fault)};
    ++report_.segments;
    report_.frames += checked.frames;
    if (!checked.fault.empty()) report_.damaged.push_back(checked);
    return each_(checked);
  }

  bool is_on_its_way(const std::filesystem::path& file) const;

  SegmentStore store_;
  const std::filesystem::path archive_;
  const bool station_runs_;
  const std::function<bool(const CheckedSegment&)>& each_;
  std::set<std::string> listed_;
  CheckReport report_;
};

base::Result<bool> Check::entries_of(const base::CameraName& camera) {
  auto entries = store_.between(camera, kEarliest, kLatest);
  if (!entries) return std::move(entries).error();
  for (const Segment& entry : *entries) {
    listed_.insert(entry.path);
    const auto file = archive_ / entry.path;
    const bool being_written = is_being_written(file);
    Seen seen = look_into(file, being_written);
    if (!seen.fault.empty()) {
      // Retention may have taken it since the list was made.
      auto still = store_.find(entry.path);
      if (still && !*still) continue;
    } else if (!being_written && !entry.open) {
      seen.fault = disagreement(entry, seen, file);
    }
    if (!tell(entry.path, std::move(seen))) return false;
  }
  return true;
}

// A running station tells the catalog a moment later, on a full disk when there is room again.
bool Check::is_on_its_way(const std::filesystem::path& file) const {
  std::error_code gone;
  const auto written = std::filesystem::last_write_time(file, gone);
  if (gone) return true;  // retention took it
  return station_runs_ && std::filesystem::file_time_type::clock::now() - written < kEntryWithin;
}

bool Check::files_without_entry() {
  for (const auto& path : list_segment_files(archive_)) {
    if (listed_.contains(path) || is_being_written(archive_ / path)) continue;
    auto entry = store_.find(path);  // it may be newer than the list
    if (!entry || *entry || is_on_its_way(archive_ / path)) continue;
    Seen seen = look_into(archive_ / path, false);
    if (seen.fault.empty()) seen.fault = "the catalog has no entry for it";
    if (!tell(path, std::move(seen))) return false;
  }
  return true;
}

}  // namespace

base::Result<CheckReport> check(Catalog& catalog, const std::function<bool(const CheckedSegment&)>& each) {
  if (auto sound = catalog.check(); !sound) return std::move(sound).error();
  auto cameras = SegmentStore{catalog}.cameras();
  if (!cameras) return std::move(cameras).error();
  Check checking{catalog, each};
  for (const auto& camera : *cameras) {
    auto more = checking.entries_of(camera);
    if (!more) return std::move(more).error();
    if (!*more) return std::move(checking.report());
  }
  checking.files_without_entry();
  return std::move(checking.report());
}

}  // namespace rookery::archive
