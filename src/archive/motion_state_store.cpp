#include "archive/motion_state_store.h"

#include <SQLiteCpp/SQLiteCpp.h>

#include "archive/rows.h"

namespace rookery::archive {

void MotionStateStore::put_later(const base::CameraName& camera, std::vector<std::byte> state,
                                 base::WallTime at) {
  catalog_.write_later(
      "motion state " + camera.text(), [camera, state = std::move(state), at](SQLite::Database& db) {
        SQLite::Statement upsert(db,
                                 "INSERT INTO motion_state(recorded, saved_us, state) VALUES(?, ?, ?)"
                                 " ON CONFLICT(recorded) DO UPDATE SET saved_us = excluded.saved_us,"
                                 " state = excluded.state");
        upsert.bind(1, rows::make_recorded(db, camera));
        upsert.bind(2, rows::micros(at));
        upsert.bindNoCopy(3, state.data(), static_cast<int>(state.size()));
        upsert.exec();
      });
}

base::Result<std::optional<std::vector<std::byte>>> MotionStateStore::find(
    const base::CameraName& camera) const {
  std::optional<std::vector<std::byte>> found;
  auto done = catalog_.read([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement query(db,
                            "SELECT state FROM motion_state JOIN recorded ON recorded.id = "
                            "motion_state.recorded WHERE camera = ?");
    query.bind(1, camera.text());
    if (!query.executeStep()) return base::ok();
    const SQLite::Column state = query.getColumn(0);
    const auto* bytes = static_cast<const std::byte*>(state.getBlob());
    found.emplace(bytes, bytes + state.getBytes());
    return base::ok();
  });
  if (!done) return done.error();
  return found;
}

}  // namespace rookery::archive
