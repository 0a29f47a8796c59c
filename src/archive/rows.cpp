#include "archive/rows.h"

#include <SQLiteCpp/SQLiteCpp.h>

namespace rookery::archive::rows {

std::optional<std::int64_t> find_recorded(SQLite::Database& db, const base::CameraName& camera) {
  SQLite::Statement query(db, "SELECT id FROM recorded WHERE camera = ?");
  query.bind(1, camera.text());
  if (!query.executeStep()) return std::nullopt;
  return query.getColumn(0).getInt64();
}

std::int64_t make_recorded(SQLite::Database& db, const base::CameraName& camera) {
  if (const auto found = find_recorded(db, camera)) return *found;
  SQLite::Statement insert(db, "INSERT INTO recorded(camera) VALUES(?)");
  insert.bind(1, camera.text());
  insert.exec();
  return db.getLastInsertRowid();
}

}  // namespace rookery::archive::rows
