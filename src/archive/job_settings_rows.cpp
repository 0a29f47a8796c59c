// How a camera's jobs go, in the catalog.
#include <SQLiteCpp/SQLiteCpp.h>

#include "archive/catalog_value.h"
#include "archive/job_rows.h"
#include "archive/job_store.h"

namespace rookery::archive {

using base::Error;
using base::ErrorCode;
using base::Result;

namespace job_rows {

std::optional<std::int64_t> camera_row(SQLite::Database& db, const base::CameraName& camera) {
  SQLite::Statement query(db, "SELECT id FROM camera WHERE name = ?");
  query.bind(1, camera.text());
  if (!query.executeStep()) return std::nullopt;
  return query.getColumn(0).getInt64();
}

Error no_such_camera(const base::CameraName& camera) {
  return {ErrorCode::not_found, "camera", fmt::format("there is no camera \"{}\"", camera.text()),
          "`rookery camera list` shows those there are."};
}

std::string settings_text(SQLite::Database& db, const base::CameraName& camera) {
  SQLite::Statement query(
      db, "SELECT settings FROM job_settings WHERE camera = (SELECT id FROM camera WHERE name = ?)");
  query.bind(1, camera.text());
  return query.executeStep() ? query.getColumn(0).getString() : std::string();
}

JobSettings settings_of(SQLite::Database& db, const base::CameraName& camera) {
  const std::string text = settings_text(db, camera);
  return text.empty() ? JobSettings{} : read_job_settings(camera, text);
}

}  // namespace job_rows

Result<JobSettings> JobStore::settings(const base::CameraName& camera) const {
  return reading<JobSettings>(catalog_, [&](SQLite::Database& db) -> Result<JobSettings> {
    if (!job_rows::camera_row(db, camera)) return job_rows::no_such_camera(camera);
    return job_rows::settings_of(db, camera);
  });
}

Result<JobSettings> JobStore::change_settings(const base::CameraName& camera,
                                              const boost::json::object& change) {
  return writing<JobSettings>(catalog_, [&](SQLite::Database& db) -> Result<JobSettings> {
    const auto row = job_rows::camera_row(db, camera);
    if (!row) return job_rows::no_such_camera(camera);
    auto changed = change_stored_job_settings(camera, job_rows::settings_text(db, camera), change);
    if (!changed) return changed.error();
    SQLite::Statement upsert(db,
                             "INSERT INTO job_settings(camera, settings) VALUES(?, ?)"
                             " ON CONFLICT(camera) DO UPDATE SET settings = excluded.settings");
    upsert.bind(1, *row);
    upsert.bind(2, changed->text);
    upsert.exec();
    return std::move(changed->settings);
  });
}

Result<void> JobStore::set_settings(const base::CameraName& camera, const JobSettings& settings) {
  const auto set = change_settings(camera, job_settings_json(settings));
  return set ? base::ok() : Result<void>(set.error());
}

Result<std::vector<std::pair<base::CameraName, JobSettings>>> JobStore::all_settings() const {
  using All = std::vector<std::pair<base::CameraName, JobSettings>>;
  return reading<All>(catalog_, [](SQLite::Database& db) -> Result<All> {
    All all;
    SQLite::Statement query(
        db, "SELECT name, settings FROM job_settings JOIN camera ON camera.id = job_settings.camera");
    while (query.executeStep()) {
      auto name = base::CameraName::parse(query.getColumn(0).getString());
      if (!name) return name.error();
      JobSettings settings = read_job_settings(*name, query.getColumn(1).getString());
      all.emplace_back(std::move(*name), std::move(settings));
    }
    return all;
  });
}

}  // namespace rookery::archive
