// SegmentStore::set_kept: the mark in the catalog and the mark beside the file go together.
#include <SQLiteCpp/SQLiteCpp.h>
#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <set>
#include <span>

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
  Span span;
};

// So many segments change in one transaction: others wait for their turn no longer than that.
constexpr std::size_t kBatch = 200;

base::Result<std::vector<Marked>> overlapping(const Catalog& catalog, const base::CameraName& camera,
                                              base::WallTime from, base::WallTime to) {
  std::vector<Marked> found;
  auto done = catalog.read([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement query(
        db,
        "SELECT segment.id, path, kept, start_us, end_us FROM segment JOIN recorded ON recorded.id = "
        "segment.recorded WHERE "
        "recorded.camera = ?1 AND start_us <= ?3 AND start_us >= ?2 - recorded.longest_us AND end_us >= ?2");
    query.bind(1, camera.text());
    query.bind(2, rows::micros(from));
    query.bind(3, rows::micros(to));
    while (query.executeStep()) {
      found.push_back(
          {query.getColumn(0).getInt64(),
           mark_of(catalog, query.getColumn(1).getString()),
           query.getColumn(2).getInt() != 0,
           {rows::wall(query.getColumn(3).getInt64()), rows::wall(query.getColumn(4).getInt64())}});
    }
    return base::ok();
  });
  if (!done) return std::move(done).error();
  return found;
}

using Folders = std::set<std::filesystem::path>;

base::Result<void> sync_all(const Folders& folders) {
  for (const auto& folder : folders) {
    if (auto synced = base::sync_folder(folder); !synced) return synced;
  }
  return base::ok();
}

// An empty file says it all, so that its name alone has to reach the disk: one flush a folder.
// A file whose folder is gone needs no mark: no rebuild will find it.
base::Result<void> make_marks(std::span<const Marked> segments) {
  Folders folders;
  for (const Marked& segment : segments) {
    const int file = ::open(segment.mark.c_str(), O_WRONLY | O_CREAT | O_CLOEXEC, 0600);
    if (file >= 0) {
      ::close(file);
      folders.insert(segment.mark.parent_path());
    } else if (errno != ENOENT) {
      return base::file_error(errno, "keep", segment.mark);
    }
  }
  return sync_all(folders);
}

base::Result<void> remove_marks(std::span<const Marked> segments) {
  Folders folders;
  for (const Marked& segment : segments) {
    if (::unlink(segment.mark.c_str()) == 0) {
      folders.insert(segment.mark.parent_path());
    } else if (errno != ENOENT) {
      return base::file_error(errno, "let go", segment.mark);
    }
  }
  return sync_all(folders);
}

base::Result<std::size_t> set_entries(Catalog& catalog, std::span<const Marked> segments, bool kept) {
  std::size_t changed = 0;
  auto done = catalog.write([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement update(db, "UPDATE segment SET kept = ?1 WHERE id = ?2 AND kept <> ?1");
    for (const Marked& segment : segments) {
      update.reset();
      update.bind(1, kept ? 1 : 0);
      update.bind(2, segment.id);
      changed += static_cast<std::size_t>(update.exec());
    }
    return base::ok();
  });
  if (!done) return std::move(done).error();
  return changed;
}

// Retention looks at the mark inside the transaction in which it removes: once the mark stands, the file
// stays. What it took before leaves the mark without its file.
void remove_orphans(std::span<const Marked> segments) {
  std::error_code failed;
  for (const Marked& segment : segments) {
    auto file = segment.mark;
    file.replace_extension();
    if (!std::filesystem::exists(file, failed) && !failed) std::filesystem::remove(segment.mark, failed);
  }
}

base::Result<std::size_t> keep(Catalog& catalog, std::span<const Marked> segments) {
  auto made = make_marks(segments);
  auto changed = made ? set_entries(catalog, segments, true) : std::move(made).error();
  if (!changed) {
    (void)remove_marks(segments);
    return changed;
  }
  if (*changed < segments.size()) remove_orphans(segments);
  return changed;
}

base::Result<std::size_t> let_go(Catalog& catalog, std::span<const Marked> segments) {
  auto changed = set_entries(catalog, segments, false);
  if (!changed) return changed;
  if (auto removed = remove_marks(segments); !removed) return std::move(removed).error();
  return changed;
}

}  // namespace

// Keeping makes the marks first and letting go removes them last, so that whatever goes wrong in between errs
// on the side of keeping. A long span goes in several steps; an error leaves those before it as they are now.
base::Result<std::size_t> SegmentStore::set_kept(const base::CameraName& camera, base::WallTime from,
                                                 base::WallTime to, bool kept, std::span<const Span> except) {
  auto segments = overlapping(catalog_, camera, from, to);
  if (!segments) return std::move(segments).error();
  std::erase_if(*segments, [except](const Marked& segment) {
    return std::ranges::any_of(except, [&segment](const Span& span) {
      return segment.span.from <= span.to && segment.span.to >= span.from;
    });
  });
  // Letting go looks at all of them again: a mark may have stayed when an earlier try failed half-way.
  if (kept) std::erase_if(*segments, [](const Marked& segment) { return segment.kept; });
  std::size_t changed = 0;
  for (std::size_t at = 0; at < segments->size(); at += kBatch) {
    const auto batch =
        std::span<const Marked>(*segments).subspan(at, std::min(kBatch, segments->size() - at));
    auto done = kept ? keep(catalog_, batch) : let_go(catalog_, batch);
    if (!done) return done;
    changed += *done;
  }
  return changed;
}

}  // namespace rookery::archive
