// SegmentStore::set_kept: the mark in the catalog and the mark beside the file go together.
#include <SQLiteCpp/SQLiteCpp.h>
#include <unistd.h>

#include <set>

#include "archive/rows.h"
#include "archive/segment_store.h"
#include "base/file.h"

namespace rookery::archive {
namespace {

std::filesystem::path mark_of(const Catalog& catalog, const std::string& segment_path) {
  return catalog.home() / "archive" / (segment_path + ".kept");
}

struct Marked {
  std::int64_t id;
  std::filesystem::path mark;
  bool kept;  // as the catalog has it
};

std::vector<Marked> overlapping(SQLite::Database& db, const Catalog& catalog, const base::CameraName& camera,
                                base::WallTime from, base::WallTime to) {
  SQLite::Statement query(
      db,
      "SELECT segment.id, path, kept FROM segment JOIN recorded ON recorded.id = segment.recorded WHERE "
      "recorded.camera "
      "= ?1 AND start_us <= ?3 AND start_us >= ?2 - recorded.longest_us AND end_us >= ?2");
  query.bind(1, camera.text());
  query.bind(2, rows::micros(from));
  query.bind(3, rows::micros(to));
  std::vector<Marked> found;
  while (query.executeStep()) {
    found.push_back({query.getColumn(0).getInt64(), mark_of(catalog, query.getColumn(1).getString()),
                     query.getColumn(2).getInt() != 0});
  }
  return found;
}

// A file whose folder is gone needs no mark: no rebuild will find it.
base::Result<void> make_marks(const std::vector<Marked>& segments) {
  for (const Marked& segment : segments) {
    auto made = base::write_durably(segment.mark, {}, 0600);
    if (!made && made.error().code != base::ErrorCode::not_found) return made;
  }
  return base::ok();
}

base::Result<void> remove_marks(const std::vector<Marked>& segments) {
  std::set<std::filesystem::path> folders;
  for (const Marked& segment : segments) {
    if (::unlink(segment.mark.c_str()) == 0) {
      folders.insert(segment.mark.parent_path());
    } else if (errno != ENOENT) {
      return base::file_error(errno, "let go", segment.mark);
    }
  }
  for (const auto& folder : folders) {
    if (auto synced = base::sync_folder(folder); !synced) return synced;
  }
  return base::ok();
}

}  // namespace

// Keeping makes the marks first and letting go removes them last, so that whatever goes wrong in between errs
// on the side of keeping.
base::Result<std::size_t> SegmentStore::set_kept(const base::CameraName& camera, base::WallTime from,
                                                 base::WallTime to, bool kept) {
  std::vector<Marked> segments;
  std::size_t changed = 0;
  auto done = catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    segments = overlapping(db, catalog_, camera, from, to);
    // Letting go looks at all of them again: a mark may have stayed when an earlier try failed half-way.
    if (kept) std::erase_if(segments, [](const Marked& segment) { return segment.kept; });
    if (kept) {
      if (auto made = make_marks(segments); !made) return made;
    }
    SQLite::Statement update(db, "UPDATE segment SET kept = ?1 WHERE id = ?2 AND kept <> ?1");
    for (const Marked& segment : segments) {
      update.reset();
      update.bind(1, kept ? 1 : 0);
      update.bind(2, segment.id);
      changed += static_cast<std::size_t>(update.exec());
    }
    return base::ok();
  });
  if (!done) {
    if (kept) (void)remove_marks(segments);
    return done.error();
  }
  if (!kept) {
    if (auto removed = remove_marks(segments); !removed) return removed.error();
  }
  return changed;
}

}  // namespace rookery::archive
