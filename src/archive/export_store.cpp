#include "archive/export_store.h"

#include <SQLiteCpp/SQLiteCpp.h>

#include "archive/export_json.h"
#include "archive/rows.h"
#include "base/log.h"

namespace rookery::archive {
namespace {

using base::Error;
using base::ErrorCode;
using base::Result;

// One column of one row.
Result<void> update(Catalog& catalog, const char* sql, const std::string& id,
                    const std::optional<std::string>& text = {}) {
  return catalog.write([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement update(db, sql);
    update.bind(1, id);
    if (text) update.bind(2, *text);
    update.exec();
    return base::ok();
  });
}

Result<StoredExport> export_of(SQLite::Statement& row) {
  // Until the ask is read, any request will do.
  ExportRequest request(base::CameraName::parse("a").value(), {}, {}, ExportFormat::matroska);
  StoredExport one(row.getColumn(0).getString(), row.getColumn(1).getInt64(),
                   rows::wall(row.getColumn(2).getInt64()), std::move(request));
  if (auto read = read_ask(row.getColumn(3).getString(), one); !read) return read.error();
  one.begun = row.getColumn(4).getInt();
  if (auto read = read_outcome(row.getColumn(5).getString(), one); !read) return read.error();
  return one;
}

}  // namespace

Result<void> ExportStore::add(const StoredExport& one) {
  return catalog_.write([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement insert(db,
                             "INSERT INTO export(id, person, asked_us, ask) SELECT ?1, ?2, ?3, ?4"
                             " WHERE EXISTS(SELECT 1 FROM person WHERE id = ?2)");
    insert.bind(1, one.id);
    insert.bind(2, one.person);
    insert.bind(3, rows::micros(one.asked));
    insert.bind(4, ask_text(one));
    if (insert.exec() == 0)
      return Error(ErrorCode::not_found, "export", "whoever asks for it was removed from the station");
    return base::ok();
  });
}

Result<void> ExportStore::note_begun(const std::string& id) {
  return update(catalog_, "UPDATE export SET begun = begun + 1 WHERE id = ?1", id);
}

Result<void> ExportStore::put_back(const std::string& id) {
  return update(catalog_, "UPDATE export SET begun = 0 WHERE id = ?1", id);
}

Result<void> ExportStore::note_made(const std::string& id, const ExportResult& result,
                                    const std::optional<LapseResult>& lapse) {
  return update(catalog_, "UPDATE export SET outcome = ?2 WHERE id = ?1", id, outcome_text(result, lapse));
}

Result<void> ExportStore::note_failed(const std::string& id, const Error& error) {
  return update(catalog_, "UPDATE export SET outcome = ?2 WHERE id = ?1", id, outcome_text(error));
}

void ExportStore::forget_later(const std::string& id) {
  catalog_.write_later([id](SQLite::Database& db) {
    SQLite::Statement remove(db, "DELETE FROM export WHERE id = ?");
    remove.bind(1, id);
    remove.exec();
  });
}

Result<std::vector<StoredExport>> ExportStore::all() const {
  std::vector<StoredExport> found;
  auto done = catalog_.read([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement query(db, "SELECT id, person, asked_us, ask, begun, outcome FROM export ORDER BY turn");
    while (query.executeStep()) {
      auto one = export_of(query);
      if (one) {
        found.push_back(std::move(*one));
      } else {
        base::log_warning("exports", "{}", one.error().text());
      }
    }
    return base::ok();
  });
  if (!done) return done.error();
  return found;
}

}  // namespace rookery::archive
