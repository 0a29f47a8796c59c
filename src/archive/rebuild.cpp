// rebuild(): the catalog's recordings from the files alone.
#include <map>
#include <set>

#include <SQLiteCpp/SQLiteCpp.h>

#include "archive/byte_source.h"
#include "archive/camera_store.h"
#include "archive/home_lock.h"
#include "archive/mend.h"
#include "archive/rebuild_strips.h"
#include "archive/segment_path.h"
#include "archive/upkeep.h"
#include "base/log.h"

namespace rookery::archive {
namespace {

using base::Error;
using base::ErrorCode;

base::Result<void> set_damaged_aside(const std::filesystem::path& home) {
  std::string time = base::to_rfc3339(base::SystemClock{}.wall());
  std::erase(time, ':');
  // The main file last: as long as it stands, a second try finds the same state.
  for (const char* ending : {"-wal", "-shm", ""}) {
    const auto file = home / (std::string{"catalog.db"} + ending);
    std::error_code failed;
    if (!std::filesystem::exists(file, failed)) continue;
    const auto aside = home / fmt::format("catalog.db.damaged-{}{}", time, ending);
    std::filesystem::rename(file, aside, failed);
    if (failed) return disk_error(file.string() + ": set aside", failed.value());
    base::log_warning("archive", "the damaged {} is set aside as {}", file.string(), aside.string());
  }
  return base::ok();
}

base::Result<std::unique_ptr<Catalog>> open_or_make(const std::filesystem::path& home) {
  auto catalog = Catalog::open(home);
  bool damaged = !catalog && catalog.error().code == ErrorCode::damaged;
  if (catalog) {
    auto sound = (*catalog)->check();
    damaged = !sound && sound.error().code == ErrorCode::damaged;
    if (!damaged) return catalog;
  }
  if (!damaged) return catalog;
  if (catalog) (*catalog).reset();
  // A running station would go on writing into the file that is set aside.
  auto lock = HomeLock::take(home);
  if (!lock) {
    return lock.error().code != ErrorCode::busy
               ? lock.error()
               : base::Error(ErrorCode::busy, home.string(),
                             "the catalog is damaged, and a station is running on it",
                             "Stop the station first.");
  }
  if (auto aside = set_damaged_aside(home); !aside) return std::move(aside).error();
  return Catalog::open(home);
}

struct Found {
  std::vector<Segment> segments;
  std::set<std::string> being_written;
  std::map<base::CameraName, StripMaker> strips;
};

// One file into `found`. A file that is nothing to play is logged and left.
void look_at(const std::filesystem::path& archive, const std::string& path, Found& found) {
  const auto camera = camera_of(path);
  if (!camera) return;
  const auto file = archive / path;
  Segment segment{*camera};
  segment.path = path;
  segment.open = is_being_written(file);
  if (segment.open) found.being_written.insert(path);
  auto source = FileSource::open(file);
  auto index = source ? SegmentIndex::read(*source, file.string()) : source.error();
  if (index && !segment.open && !index->sealed()) {
    auto mended = mend_file(file, MendLock::take);
    if (mended) {
      index = std::move(mended->index);
    } else {
      index = mended.error();
    }
  }
  if (!index || index->frames().empty()) {
    base::log_warning(camera->text(), "left out: {}",
                      index ? path + ": not one whole frame" : index.error().text());
    return;
  }
  segment.start = index->time_of(0);
  segment.end = index->time_of(index->frames().size() - 1);
  segment.frames = index->frames().size();
  segment.bytes = segment.open ? index->whole_bytes() : source->size();
  segment.kept = has_kept_mark(file);
  found.strips[*camera].add(*source, *index);
  found.segments.push_back(std::move(segment));
}

// Entries of segments that a running station writes keep their numbers: it goes on to use them.
void clear_all_but(SQLite::Database& db, const std::set<std::string>& being_written) {
  std::vector<std::int64_t> gone;
  SQLite::Statement all(db, "SELECT id, path FROM segment");
  while (all.executeStep())
    if (!being_written.contains(all.getColumn(1).getString())) gone.push_back(all.getColumn(0).getInt64());
  SQLite::Statement remove(db, "DELETE FROM segment WHERE id = ?");
  for (const std::int64_t id : gone) {
    remove.bind(1, id);
    remove.exec();
    remove.reset();
  }
}

base::Result<void> store(Catalog& catalog, const Found& found) {
  return catalog.write([&](SQLite::Database& db) -> base::Result<void> {
    clear_all_but(db, found.being_written);
    StripStore::clear(db);
    SQLite::Statement known(db, "SELECT 1 FROM segment WHERE path = ?");
    for (const Segment& segment : found.segments) {
      known.bind(1, segment.path);
      if (!known.executeStep()) SegmentStore::insert(db, segment);
      known.reset();
    }
    for (const auto& [camera, maker] : found.strips)
      for (const Strip& strip : maker.strips()) StripStore::put(db, camera, strip);
    return base::ok();
  });
}

base::Result<void> add_missing_cameras(Catalog& catalog, const Found& found) {
  CameraStore cameras{catalog};
  for (const auto& [name, maker] : found.strips) {
    auto have = cameras.find(name);
    if (have) continue;
    if (have.error().code != ErrorCode::not_found) return std::move(have).error();
    camera::Settings settings{name};
    // The one source that needs no address, which no file tells.
    settings.source = camera::Source::pushed;
    settings.enabled = false;
    settings.recording = false;
    if (auto added = cameras.add(settings); !added) return added;
    base::log_info(name.text(), "has recordings but no settings: added, disabled; give it its address");
  }
  return base::ok();
}

}  // namespace

base::Result<RebuildReport> rebuild(const std::filesystem::path& home,
                                    const std::function<bool(double)>& progress) {
  auto catalog = open_or_make(home);
  if (!catalog) return std::move(catalog).error();
  const auto archive = archive_folder(home);
  const auto paths = list_segment_files(archive);
  Found found;
  for (std::size_t i = 0; i < paths.size(); ++i) {
    look_at(archive, paths[i], found);
    if (!progress(static_cast<double>(i + 1) / static_cast<double>(paths.size()))) {
      return Error{ErrorCode::cancelled, "archive rebuild", "stopped; the catalog is as it was"};
    }
  }
  if (auto stored = store(**catalog, found); !stored) return std::move(stored).error();
  if (auto added = add_missing_cameras(**catalog, found); !added) return std::move(added).error();
  RebuildReport report;
  report.segments = found.segments.size();
  report.cameras = found.strips.size();
  for (const Segment& segment : found.segments) report.frames += segment.frames;
  return report;
}

}  // namespace rookery::archive
