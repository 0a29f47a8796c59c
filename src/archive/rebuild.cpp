// rebuild(): the catalog's recordings from the files alone.
#include <map>
#include <set>

#include <SQLiteCpp/SQLiteCpp.h>

#include "archive/byte_source.h"
#include "archive/camera_store.h"
#include "archive/disk.h"
#include "archive/home_lock.h"
#include "archive/mend.h"
#include "archive/rebuild_strips.h"
#include "archive/rows.h"
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

// The home's own, for as long as a catalog takes another's place: a running station would go on writing into
// the file that is not the catalog any more.
base::Result<HomeLock> lock_home(const std::filesystem::path& home, std::string_view why) {
  auto lock = HomeLock::take(home);
  if (lock || lock.error().code != ErrorCode::busy) return lock;
  return Error(ErrorCode::busy, home.string(),
               fmt::format("the catalog is {}, and a station is running on it", why),
               "Stop the station first.");
}

base::Result<std::unique_ptr<Catalog>> open_or_make(const std::filesystem::path& home) {
  std::error_code failed;
  if (!std::filesystem::exists(home / "catalog.db", failed)) {
    auto lock = lock_home(home, "missing");
    if (!lock) return std::move(lock).error();
    return Catalog::open(home);
  }
  auto catalog = Catalog::open(home);
  bool damaged = !catalog && catalog.error().code == ErrorCode::damaged;
  if (catalog) {
    auto sound = (*catalog)->check();
    damaged = !sound && sound.error().code == ErrorCode::damaged;
  }
  if (!damaged) return catalog;
  if (catalog) (*catalog).reset();
  auto lock = lock_home(home, "damaged");
  if (!lock) return std::move(lock).error();
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
  found.strips[*camera].add(*source, *index);
  found.segments.push_back(std::move(segment));
}

// What the catalog called its own before the files were listed: path and entry. What a station adds while the
// files are read is newer than anything found here, and stays.
using KnownBefore = std::map<std::string, std::int64_t>;

base::Result<KnownBefore> entries_of(const Catalog& catalog) {
  KnownBefore known;
  auto done = catalog.read([&known](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement all(db, "SELECT path, id FROM segment");
    while (all.executeStep()) known.emplace(all.getColumn(0).getString(), all.getColumn(1).getInt64());
    return base::ok();
  });
  if (!done) return std::move(done).error();
  return known;
}

// Entries keep their numbers: a running station goes on to use them.
void update(SQLite::Database& db, const Segment& segment, std::int64_t id) {
  SQLite::Statement change(
      db,
      "UPDATE segment SET start_us = ?, end_us = ?, frames = ?, bytes = ?, open = 0, kept = ? WHERE id = ?");
  change.bind(1, rows::micros(segment.start));
  change.bind(2, rows::micros(segment.end));
  change.bind(3, rows::stored(segment.frames));
  change.bind(4, rows::stored(segment.bytes));
  change.bind(5, segment.kept ? 1 : 0);
  change.bind(6, id);
  change.exec();
}

void forget(SQLite::Database& db, std::int64_t id) {
  SQLite::Statement remove(db, "DELETE FROM segment WHERE id = ?");
  remove.bind(1, id);
  remove.exec();
}

bool has_entry(SQLite::Database& db, const std::string& path) {
  SQLite::Statement known(db, "SELECT 1 FROM segment WHERE path = ?");
  known.bind(1, path);
  return known.executeStep();
}

base::Result<void> store(Catalog& catalog, Found& found, KnownBefore known) {
  const auto archive = archive_folder(catalog.home());
  return catalog.write([&](SQLite::Database& db) -> base::Result<void> {
    for (Segment& segment : found.segments) {
      const auto before = known.find(segment.path);
      const std::int64_t id = before == known.end() ? 0 : before->second;
      if (id != 0) known.erase(before);
      if (id != 0 && segment.open) continue;  // the station that writes it knows best
      // Kept, or removed by retention, while the other files were read.
      const auto file = archive / segment.path;
      segment.kept = has_kept_mark(file);
      std::error_code failed;
      const bool gone = !std::filesystem::exists(file, failed) && !failed;
      if (gone) {
        if (id != 0) forget(db, id);
      } else if (id != 0) {
        update(db, segment, id);
      } else if (!has_entry(db, segment.path)) {
        SegmentStore::insert(db, segment);
      }
    }
    for (const auto& [path, id] : known)
      if (!found.being_written.contains(path)) forget(db, id);
    for (const auto& [camera, maker] : found.strips)
      for (const Strip& strip : maker.strips()) StripStore::fill(db, camera, strip);
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
    settings.record = camera::Record::never;
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
  auto known = entries_of(**catalog);
  if (!known) return std::move(known).error();
  const auto archive = archive_folder(home);
  const auto paths = list_segment_files(archive);
  Found found;
  for (std::size_t i = 0; i < paths.size(); ++i) {
    look_at(archive, paths[i], found);
    if (!progress(static_cast<double>(i + 1) / static_cast<double>(paths.size()))) {
      return Error{ErrorCode::cancelled, "archive rebuild", "stopped; the catalog is as it was"};
    }
  }
  if (auto stored = store(**catalog, found, std::move(*known)); !stored) return std::move(stored).error();
  if (auto added = add_missing_cameras(**catalog, found); !added) return std::move(added).error();
  RebuildReport report;
  report.segments = found.segments.size();
  report.cameras = found.strips.size();
  for (const Segment& segment : found.segments) report.frames += segment.frames;
  return report;
}

}  // namespace rookery::archive
