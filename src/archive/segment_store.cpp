#include "archive/segment_store.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <sqlite3.h>

#include "archive/rows.h"
#include "archive/segment_path.h"

namespace rookery::archive {
namespace {

// Named here, so that every query gives its columns in the order in which `segment_of` reads them.
constexpr const char* kSelect =
    "SELECT segment.id, recorded.camera, path, start_us, end_us, frames, segment.bytes, open, kept"
    " FROM segment JOIN recorded ON recorded.id = segment.recorded ";

base::Result<Segment> segment_of(SQLite::Statement& row) {
  auto camera = base::CameraName::parse(row.getColumn(1).getString());
  if (!camera) return camera.error();
  Segment segment(std::move(camera).value());
  segment.id = row.getColumn(0).getInt64();
  segment.path = row.getColumn(2).getString();
  segment.start = rows::wall(row.getColumn(3).getInt64());
  segment.end = rows::wall(row.getColumn(4).getInt64());
  segment.frames = static_cast<std::uint64_t>(row.getColumn(5).getInt64());
  segment.bytes = static_cast<std::uint64_t>(row.getColumn(6).getInt64());
  segment.open = row.getColumn(7).getInt() != 0;
  segment.kept = row.getColumn(8).getInt() != 0;
  return segment;
}

using Bind = std::function<void(SQLite::Statement&)>;

base::Result<std::vector<Segment>> select_in(SQLite::Database& db, const std::string& rest,
                                             const Bind& bind) {
  std::vector<Segment> found;
  SQLite::Statement query(db, kSelect + rest);
  bind(query);
  while (query.executeStep()) {
    auto segment = segment_of(query);
    if (!segment) return segment.error();
    found.push_back(std::move(segment).value());
  }
  return found;
}

base::Result<std::vector<Segment>> select(const Catalog& catalog, const std::string& rest, const Bind& bind) {
  std::vector<Segment> found;
  auto done = catalog.read([&](SQLite::Database& db) -> base::Result<void> {
    auto selected = select_in(db, rest, bind);
    if (!selected) return selected.error();
    found = std::move(selected).value();
    return base::ok();
  });
  if (!done) return done.error();
  return found;
}

base::Result<std::optional<Segment>> first_of(base::Result<std::vector<Segment>> found) {
  if (!found) return std::move(found).error();
  if (found->empty()) return std::optional<Segment>{};
  return std::optional<Segment>(std::move(found->front()));
}

base::Result<std::uint64_t> sum(const Catalog& catalog, const char* query_text, const Bind& bind) {
  std::int64_t value = 0;
  auto done = catalog.read([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement query(db, query_text);
    bind(query);
    if (query.executeStep()) value = query.getColumn(0).getInt64();
    return base::ok();
  });
  if (!done) return done.error();
  return static_cast<std::uint64_t>(std::max<std::int64_t>(value, 0));
}

base::Error no_such_segment(std::int64_t id) {
  return {base::ErrorCode::not_found, "segment", fmt::format("the catalog has no segment {}", id)};
}

// No segment is longer than `longest_us`, so only starts from `from - longest_us` on can reach into the span:
// the index bounds the search at both ends.
constexpr const char* kOverlap =
    "WHERE recorded.camera = ?1 AND stills = ?4 AND start_us <= ?3 AND start_us >= ?2 - recorded.longest_us "
    "AND end_us >= ?2 "
    "ORDER BY start_us, segment.id";

Bind overlap(const base::CameraName& camera, base::WallTime from, base::WallTime to, int stills) {
  return [&camera, from, to, stills](SQLite::Statement& query) {
    query.bind(1, camera.text());
    query.bind(2, rows::micros(from));
    query.bind(3, rows::micros(to));
    query.bind(4, stills);
  };
}

}  // namespace

std::int64_t SegmentStore::insert(SQLite::Database& db, const Segment& segment) {
  SQLite::Statement insert(
      db,
      "INSERT INTO segment(recorded, path, start_us, end_us, frames, bytes, open, kept, stills)"
      " VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?)");
  insert.bind(1, rows::make_recorded(db, segment.camera));
  insert.bind(2, segment.path);
  insert.bind(3, rows::micros(segment.start));
  insert.bind(4, rows::micros(segment.end));
  insert.bind(5, rows::stored(segment.frames));
  insert.bind(6, rows::stored(segment.bytes));
  insert.bind(7, segment.open ? 1 : 0);
  insert.bind(8, segment.kept ? 1 : 0);
  insert.bind(9, track_of(segment.path) == Track::stills ? 1 : 0);
  insert.exec();
  return db.getLastInsertRowid();
}

base::Result<std::int64_t> SegmentStore::add(const Segment& segment) {
  std::int64_t id = 0;
  auto done = catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    try {
      id = insert(db, segment);
    } catch (const SQLite::Exception& failure) {
      if (failure.getExtendedErrorCode() != SQLITE_CONSTRAINT_UNIQUE) throw;
      return base::Error(base::ErrorCode::already_exists, segment.camera.text(),
                         fmt::format("the catalog has a segment {} already", segment.path),
                         "If the clock was set back, this passes by itself with the next file name.");
    }
    return base::ok();
  });
  if (!done) return done.error();
  return id;
}

void SegmentStore::note_later(const Segment& segment) {
  catalog_.write_later("segment " + segment.path, [segment](SQLite::Database& db) {
    SQLite::Statement note(
        db,
        "INSERT INTO segment(recorded, path, start_us, end_us, frames, bytes, open, kept, stills)"
        " VALUES(?, ?, ?, ?, ?, ?, ?, 0, ?) ON CONFLICT(path) DO UPDATE SET"
        " end_us = excluded.end_us, frames = excluded.frames, bytes = excluded.bytes,"
        " open = excluded.open");
    note.bind(1, rows::make_recorded(db, segment.camera));
    note.bind(2, segment.path);
    note.bind(3, rows::micros(segment.start));
    note.bind(4, rows::micros(segment.end));
    note.bind(5, rows::stored(segment.frames));
    note.bind(6, rows::stored(segment.bytes));
    note.bind(7, segment.open ? 1 : 0);
    note.bind(8, track_of(segment.path) == Track::stills ? 1 : 0);
    note.exec();
  });
}

base::Result<void> SegmentStore::set(const Segment& segment) {
  return catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement update(
        db, "UPDATE segment SET start_us = ?, end_us = ?, frames = ?, bytes = ?, open = ? WHERE id = ?");
    update.bind(1, rows::micros(segment.start));
    update.bind(2, rows::micros(segment.end));
    update.bind(3, rows::stored(segment.frames));
    update.bind(4, rows::stored(segment.bytes));
    update.bind(5, segment.open ? 1 : 0);
    update.bind(6, segment.id);
    if (update.exec() == 0) return no_such_segment(segment.id);
    return base::ok();
  });
}

base::Result<void> SegmentStore::remove(std::int64_t id) {
  return catalog_.write([id](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement remove(db, "DELETE FROM segment WHERE id = ?");
    remove.bind(1, id);
    if (remove.exec() == 0) return no_such_segment(id);
    return base::ok();
  });
}

base::Result<void> SegmentStore::forget(std::span<const std::string> paths) {
  return catalog_.write([paths](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement remove(db, "DELETE FROM segment WHERE path = ?");
    for (const std::string& path : paths) {
      remove.bind(1, path);
      remove.exec();
      remove.reset();
    }
    return base::ok();
  });
}

base::Result<std::vector<Segment>> SegmentStore::between(const base::CameraName& camera, base::WallTime from,
                                                         base::WallTime to) const {
  return select(catalog_, kOverlap, overlap(camera, from, to, stills()));
}

base::Result<std::optional<Segment>> SegmentStore::first_from(const base::CameraName& camera,
                                                              base::WallTime from) const {
  return first_of(select(
      catalog_,
      "WHERE recorded.camera = ? AND start_us >= ? AND stills = ? ORDER BY start_us, segment.id LIMIT 1",
      [&](SQLite::Statement& query) {
        query.bind(1, camera.text());
        query.bind(2, rows::micros(from));
        query.bind(3, stills());
      }));
}

base::Result<std::optional<Segment>> SegmentStore::last_until(const base::CameraName& camera,
                                                              base::WallTime to) const {
  return first_of(select(catalog_,
                         "WHERE recorded.camera = ? AND start_us <= ? AND stills = ? ORDER BY start_us DESC, "
                         "segment.id DESC LIMIT 1",
                         [&](SQLite::Statement& query) {
                           query.bind(1, camera.text());
                           query.bind(2, rows::micros(to));
                           query.bind(3, stills());
                         }));
}

base::Result<std::optional<Segment>> SegmentStore::find(const std::string& path) const {
  return first_of(select(catalog_, "WHERE path = ?", [&](SQLite::Statement& query) { query.bind(1, path); }));
}

base::Result<std::vector<Segment>> SegmentStore::still_open() const {
  return select(catalog_, "WHERE open = 1 ORDER BY segment.id", [](SQLite::Statement&) {});
}

base::Result<std::vector<Segment>> SegmentStore::oldest_unkept(std::size_t most) const {
  return select(catalog_, "WHERE open = 0 AND kept = 0 ORDER BY start_us LIMIT ?",
                [&](SQLite::Statement& query) { query.bind(1, rows::stored(most)); });
}

base::Result<std::vector<Segment>> SegmentStore::oldest_unkept(const base::CameraName& camera,
                                                               std::size_t most) const {
  return select(
      catalog_,
      "WHERE recorded.camera = ? AND open = 0 AND kept = 0 AND stills = ? ORDER BY start_us LIMIT ?",
      [&](SQLite::Statement& query) {
        query.bind(1, camera.text());
        query.bind(2, stills());
        query.bind(3, rows::stored(most));
      });
}

base::Result<std::vector<Segment>> SegmentStore::oldest_unkept_of_both(const base::CameraName& camera,
                                                                       std::size_t most) const {
  return select(catalog_, "WHERE recorded.camera = ? AND open = 0 AND kept = 0 ORDER BY start_us LIMIT ?",
                [&](SQLite::Statement& query) {
                  query.bind(1, camera.text());
                  query.bind(2, rows::stored(most));
                });
}

base::Result<std::uint64_t> SegmentStore::bytes_of(const base::CameraName& camera) const {
  return sum(catalog_, "SELECT bytes FROM recorded WHERE camera = ?",
             [&](SQLite::Statement& query) { query.bind(1, camera.text()); });
}

base::Result<std::uint64_t> SegmentStore::count() const {
  return sum(catalog_, "SELECT total(segments) FROM recorded", [](SQLite::Statement&) {});
}

base::Result<std::uint64_t> SegmentStore::bytes() const {
  return sum(catalog_, "SELECT total(bytes) FROM recorded", [](SQLite::Statement&) {});
}

base::Result<std::uint64_t> SegmentStore::kept_bytes() const {
  return sum(catalog_, "SELECT total(bytes) FROM segment WHERE kept = 1", [](SQLite::Statement&) {});
}

base::Result<std::vector<base::CameraName>> SegmentStore::cameras() const {
  std::vector<base::CameraName> names;
  auto done = catalog_.read([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement query(db, "SELECT camera FROM recorded WHERE segments > 0 ORDER BY camera");
    while (query.executeStep()) {
      auto name = base::CameraName::parse(query.getColumn(0).getString());
      if (!name) return name.error();
      names.push_back(std::move(name).value());
    }
    return base::ok();
  });
  if (!done) return done.error();
  return names;
}

base::Result<std::vector<Span>> SegmentStore::spans(const base::CameraName& camera, base::WallTime from,
                                                    base::WallTime to, base::Milliseconds gap) const {
  auto segments = between(camera, from, to);
  if (!segments) return segments.error();
  std::vector<Span> joined;
  for (const Segment& segment : *segments) {
    const Span span{std::max(segment.start, from), std::min(segment.end, to)};
    if (!joined.empty() && span.from - joined.back().to <= gap) {
      joined.back().to = std::max(joined.back().to, span.to);
    } else {
      joined.push_back(span);
    }
  }
  return joined;
}

}  // namespace rookery::archive
