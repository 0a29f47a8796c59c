#include "archive/board_store.h"

#include <algorithm>

#include <SQLiteCpp/SQLiteCpp.h>

#include "archive/rows.h"

namespace rookery::archive {
namespace {

base::WallTime time_of(const SQLite::Column& column) {
  return base::WallTime{std::chrono::microseconds{column.getInt64()}};
}

std::string hardware_text(const camera::BoardEvidence& evidence) {
  return evidence.hardware ? evidence.hardware->text() : std::string();
}

}  // namespace

base::Result<void> BoardStore::put(const StoredBoard& board) {
  return catalog_.write([&board](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement upsert(
        db,
        "INSERT INTO board(camera, host, hardware, announced, announced_host, fingerprint, seen_us, "
        "moved_from,"
        " moved_to, moved_us) SELECT id, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10 FROM camera WHERE name = ?1"
        " ON CONFLICT(camera) DO UPDATE SET host = excluded.host, hardware = excluded.hardware,"
        " announced = excluded.announced, announced_host = excluded.announced_host,"
        " fingerprint = excluded.fingerprint, seen_us = excluded.seen_us, moved_from = excluded.moved_from,"
        " moved_to = excluded.moved_to, moved_us = excluded.moved_us");
    upsert.bind(1, board.camera.text());
    upsert.bind(2, board.host);
    upsert.bind(3, hardware_text(board.evidence));
    upsert.bind(4, board.evidence.announced);
    upsert.bind(5, board.evidence.host);
    upsert.bind(6, board.evidence.fingerprint);
    upsert.bind(7, rows::micros(board.seen));
    if (board.moved) {
      upsert.bind(8, board.moved->from);
      upsert.bind(9, board.moved->to);
      upsert.bind(10, rows::micros(board.moved->at));
    }
    if (upsert.exec() > 0) return base::ok();
    return base::Error(base::ErrorCode::not_found, board.camera.text(), "there is no camera of that name",
                       {});
  });
}

base::Result<std::vector<StoredBoard>> BoardStore::list() const {
  std::vector<StoredBoard> out;
  auto done = catalog_.read([&out](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement query(
        db,
        "SELECT name, host, hardware, announced, announced_host, fingerprint, seen_us,"
        " moved_from, moved_to, moved_us FROM board JOIN camera ON camera.id = board.camera"
        " ORDER BY position");
    while (query.executeStep()) {
      auto name = base::CameraName::parse(query.getColumn(0).getString());
      if (!name) return name.error();
      StoredBoard board(std::move(*name));
      board.host = query.getColumn(1).getString();
      board.evidence.hardware = net::HardwareAddress::parse(query.getColumn(2).getString());
      board.evidence.announced = query.getColumn(3).getString();
      board.evidence.host = query.getColumn(4).getString();
      board.evidence.fingerprint = query.getColumn(5).getString();
      board.seen = time_of(query.getColumn(6));
      if (!query.isColumnNull(9))
        board.moved = BoardMove{query.getColumn(7).getString(), query.getColumn(8).getString(),
                                time_of(query.getColumn(9))};
      out.push_back(std::move(board));
    }
    return base::ok();
  });
  if (!done) return done.error();
  return out;
}

base::Result<std::vector<camera::KnownBoard>> BoardStore::known(
    const std::vector<camera::Settings>& cameras) const {
  const auto stored = list();
  if (!stored) return stored.error();
  std::vector<camera::KnownBoard> out;
  for (const camera::Settings& settings : cameras) {
    camera::KnownBoard board = camera::known_board(settings);
    const auto found = std::ranges::find(*stored, settings.name, &StoredBoard::camera);
    const bool still =
        found != stored->end() && std::ranges::find(board.hosts, found->host) != board.hosts.end();
    if (still) board.evidence = found->evidence;
    out.push_back(std::move(board));
  }
  return out;
}

}  // namespace rookery::archive
