#include "notices/notice_queue.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <fmt/format.h>

#include "archive/rows.h"

namespace rookery::notices {
namespace {

using base::Result;
namespace rows = archive::rows;

constexpr const char* kColumns =
    "id, receiver, rule, event, camera, title, what, made_us, state, tries, next_us, done_us, answer, body,"
    " motion";

// column of `receiver` that counts how many came to this end.
const char* counter_of(State state) {
  switch (state) {
    case State::delivered:
      return "delivered";
    case State::given_up:
      return "given_up";
    default:
      return "dropped";
  }
}

Queued queued_of(SQLite::Statement& row) {
  Queued queued;
  queued.notice.id = row.getColumn(0).getInt64();
  queued.receiver = row.getColumn(1).getInt64();
  if (!row.isColumnNull(2)) queued.rule = row.getColumn(2).getInt64();
  if (!row.isColumnNull(3)) queued.event = row.getColumn(3).getInt64();
  queued.notice.camera = row.getColumn(4).getString();
  queued.notice.title = row.getColumn(5).getString();
  queued.notice.what = what_of(row.getColumn(6).getString());
  queued.notice.made = rows::wall(row.getColumn(7).getInt64());
  queued.state = state_of(row.getColumn(8).getString()).value_or(State::given_up);
  queued.tries = static_cast<unsigned>(row.getColumn(9).getInt());
  queued.next = rows::wall(row.getColumn(10).getInt64());
  if (!row.isColumnNull(11)) queued.done = rows::wall(row.getColumn(11).getInt64());
  queued.answer = row.getColumn(12).getString();
  queued.notice.event = row.getColumn(13).getString();
  queued.notice.motion = row.getColumn(14).getInt() != 0;
  return queued;
}

void insert(SQLite::Database& db, const Queued& queued) {
  SQLite::Statement insert(
      db,
      "INSERT INTO notice(receiver, rule, event, camera, title, what, made_us, state, next_us,"
      " body, still, motion) SELECT ?1, ?2, ?3, ?4, ?5, ?6, ?7, 'waiting', ?7, ?8, ?9, ?10"
      " WHERE EXISTS(SELECT 1 FROM receiver WHERE id = ?1)");
  insert.bind(1, queued.receiver);
  if (queued.rule) insert.bind(2, *queued.rule);
  if (queued.event) insert.bind(3, *queued.event);
  insert.bind(4, queued.notice.camera);
  insert.bind(5, queued.notice.title);
  insert.bind(6, std::string(name_of(queued.notice.what)));
  insert.bind(7, rows::micros(queued.notice.made));
  insert.bind(8, queued.notice.event);
  const std::string& still = queued.notice.still;
  if (!still.empty() && still.size() <= NoticeQueue::kMostStill_bytes)
    insert.bind(9, still.data(), static_cast<int>(still.size()));
  insert.bind(10, queued.notice.motion ? 1 : 0);
  insert.exec();
}

void note_owed(SQLite::Database& db, const Queued& queued) {
  if (!queued.event) return;
  if (queued.notice.what == What::ended) {
    SQLite::Statement told(db, "DELETE FROM owed_end WHERE receiver = ? AND event = ?");
    told.bind(1, queued.receiver);
    told.bind(2, *queued.event);
    told.exec();
  } else if (queued.owes_end) {
    SQLite::Statement owed(db,
                           "INSERT OR IGNORE INTO owed_end(receiver, event, camera, title, motion)"
                           " SELECT ?1, ?2, ?3, ?4, ?5 WHERE EXISTS(SELECT 1 FROM receiver WHERE id = ?1)");
    owed.bind(1, queued.receiver);
    owed.bind(2, *queued.event);
    owed.bind(3, queued.notice.camera);
    owed.bind(4, queued.notice.title);
    owed.bind(5, queued.notice.motion ? 1 : 0);
    owed.exec();
  }
}

void end(SQLite::Database& db, std::int64_t id, State state, const std::string& answer, std::int64_t at_us) {
  SQLite::Statement update(db,
                           "UPDATE notice SET state = ?2, answer = ?3, done_us = ?4, still = NULL,"
                           " tries = tries + ?5 WHERE id = ?1 AND state = 'waiting'");
  update.bind(1, id);
  update.bind(2, std::string(name_of(state)));
  update.bind(3, answer);
  update.bind(4, at_us);
  update.bind(5, state == State::delivered ? 1 : 0);
  if (update.exec() == 0) return;
  SQLite::Statement count(db, fmt::format("UPDATE receiver SET {0} = {0} + 1 WHERE id ="
                                          " (SELECT receiver FROM notice WHERE id = ?)",
                                          counter_of(state)));
  count.bind(1, id);
  count.exec();
}

void drop_oldest(SQLite::Database& db, std::int64_t receiver, std::size_t most, std::int64_t at_us) {
  SQLite::Statement oldest(
      db,
      "SELECT id FROM notice WHERE receiver = ?1 AND state = 'waiting' ORDER BY id"
      " LIMIT max(0, (SELECT count(*) FROM notice WHERE receiver = ?1 AND state = 'waiting') - ?2)");
  oldest.bind(1, receiver);
  oldest.bind(2, static_cast<std::int64_t>(most));
  std::vector<std::int64_t> ids;
  while (oldest.executeStep()) ids.push_back(oldest.getColumn(0).getInt64());
  for (const std::int64_t id : ids)
    end(db, id, State::dropped, fmt::format("more than {} were waiting", most), at_us);
}

void forget_oldest(SQLite::Database& db, std::int64_t receiver, std::size_t most) {
  SQLite::Statement remove(db,
                           "DELETE FROM notice WHERE id IN (SELECT id FROM notice WHERE receiver = ?1 AND"
                           " state <> 'waiting' ORDER BY id DESC LIMIT -1 OFFSET ?2)");
  remove.bind(1, receiver);
  remove.bind(2, static_cast<std::int64_t>(most));
  remove.exec();
}

}  // namespace

std::string_view name_of(State state) {
  constexpr std::string_view kNames[] = {"waiting", "delivered", "given-up", "dropped"};
  return kNames[static_cast<std::size_t>(state)];
}

std::optional<State> state_of(std::string_view word) {
  for (const State state : {State::waiting, State::delivered, State::given_up, State::dropped}) {
    if (name_of(state) == word) return state;
  }
  return std::nullopt;
}

Result<void> NoticeQueue::add(const std::vector<Queued>& notices) {
  return catalog_.write([&](SQLite::Database& db) -> Result<void> {
    for (const Queued& queued : notices) {
      insert(db, queued);
      note_owed(db, queued);
      drop_oldest(db, queued.receiver, limits_.most_waiting, rows::micros(queued.notice.made));
    }
    return base::ok();
  });
}

Result<std::optional<Queued>> NoticeQueue::head(std::int64_t receiver) const {
  std::optional<Queued> found;
  auto done = catalog_.read([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement query(
        db, fmt::format("SELECT {}, still FROM notice WHERE receiver = ? AND state = 'waiting'"
                        " ORDER BY what = 'pause' DESC, id LIMIT 1",
                        kColumns));
    query.bind(1, receiver);
    if (!query.executeStep()) return base::ok();
    found = queued_of(query);
    const SQLite::Column still = query.getColumn(15);
    found->notice.still.assign(static_cast<const char*>(still.getBlob()),
                               static_cast<std::size_t>(still.getBytes()));
    return base::ok();
  });
  if (!done) return std::move(done).error();
  return found;
}

Result<void> NoticeQueue::finish(std::int64_t id, State state, const std::string& answer, base::WallTime at) {
  return catalog_.write([&](SQLite::Database& db) -> Result<void> {
    end(db, id, state, answer, rows::micros(at));
    const auto receiver =
        db.execAndGet(fmt::format("SELECT coalesce((SELECT receiver FROM notice WHERE id = {}), 0)", id));
    forget_oldest(db, receiver.getInt64(), limits_.most_done);
    return base::ok();
  });
}

Result<void> NoticeQueue::note_delivered(std::int64_t id, const std::string& answer, base::WallTime at) {
  return finish(id, State::delivered, answer, at);
}

Result<void> NoticeQueue::give_up(std::int64_t id, const std::string& answer, base::WallTime at) {
  return finish(id, State::given_up, answer, at);
}

Result<std::size_t> NoticeQueue::give_up_all(std::int64_t receiver, base::WallTime made_until,
                                             const std::string& answer, base::WallTime at) {
  std::size_t many = 0;
  auto done = catalog_.write([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement old(db,
                          "SELECT id, answer FROM notice WHERE receiver = ? AND state = 'waiting' AND"
                          " made_us <= ? AND NOT (what = 'ended' AND motion = 1) ORDER BY id");
    old.bind(1, receiver);
    old.bind(2, rows::micros(made_until));
    std::vector<std::pair<std::int64_t, std::string>> found;
    while (old.executeStep()) found.emplace_back(old.getColumn(0).getInt64(), old.getColumn(1).getString());
    for (const auto& [id, had] : found)
      end(db, id, State::given_up, had.empty() ? answer : had, rows::micros(at));
    forget_oldest(db, receiver, limits_.most_done);
    many = found.size();
    return base::ok();
  });
  if (!done) return std::move(done).error();
  return many;
}

Result<void> NoticeQueue::note_failed(std::int64_t id, const std::string& answer, base::WallTime next) {
  return catalog_.write([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement update(
        db,
        "UPDATE notice SET tries = tries + 1, answer = ?2, next_us = ?3 WHERE id = ?1 AND"
        " state = 'waiting'");
    update.bind(1, id);
    update.bind(2, answer);
    update.bind(3, rows::micros(next));
    update.exec();
    return base::ok();
  });
}

Result<std::vector<Queued>> NoticeQueue::log(std::optional<std::int64_t> receiver, std::optional<State> state,
                                             std::optional<std::int64_t> before, std::size_t limit) const {
  std::vector<Queued> found;
  auto done = catalog_.read([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement query(
        db,
        fmt::format("SELECT {} FROM notice WHERE (?1 IS NULL OR receiver = ?1) AND (?2 IS NULL OR state = ?2)"
                    " AND id < ?3 ORDER BY id DESC LIMIT ?4",
                    kColumns));
    if (receiver) query.bind(1, *receiver);
    if (state) query.bind(2, std::string(name_of(*state)));
    query.bind(3, before.value_or(INT64_MAX));
    query.bind(4, static_cast<std::int64_t>(limit));
    while (query.executeStep()) found.push_back(queued_of(query));
    return base::ok();
  });
  if (!done) return std::move(done).error();
  return found;
}

Result<std::vector<OwedEnd>> NoticeQueue::owed_ends() const {
  std::vector<OwedEnd> found;
  auto done = catalog_.read([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement query(
        db, "SELECT receiver, event, camera, title, motion FROM owed_end ORDER BY event, receiver");
    while (query.executeStep()) {
      found.push_back({query.getColumn(0).getInt64(), query.getColumn(1).getInt64(),
                       query.getColumn(2).getString(), query.getColumn(3).getString(),
                       query.getColumn(4).getInt() != 0});
    }
    return base::ok();
  });
  if (!done) return std::move(done).error();
  return found;
}

Result<std::optional<base::WallTime>> NoticeQueue::last_made(std::int64_t rule,
                                                             const base::CameraName& camera) const {
  std::optional<base::WallTime> last;
  auto done = catalog_.read([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement query(
        db, "SELECT max(made_us) FROM notice WHERE rule = ? AND camera = ? AND what = 'begun'");
    query.bind(1, rule);
    query.bind(2, camera.text());
    if (query.executeStep() && !query.isColumnNull(0)) last = rows::wall(query.getColumn(0).getInt64());
    return base::ok();
  });
  if (!done) return std::move(done).error();
  return last;
}

Result<std::vector<QueueCounts>> NoticeQueue::counts() const {
  std::vector<QueueCounts> found;
  auto done = catalog_.read([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement query(
        db,
        "SELECT id, delivered, given_up, dropped, (SELECT count(*) FROM notice WHERE receiver ="
        " receiver.id AND state = 'waiting'), (SELECT made_us FROM notice WHERE receiver ="
        " receiver.id AND state = 'waiting' ORDER BY id LIMIT 1) FROM receiver ORDER BY id");
    while (query.executeStep()) {
      QueueCounts counts;
      counts.receiver = query.getColumn(0).getInt64();
      counts.delivered = static_cast<std::uint64_t>(query.getColumn(1).getInt64());
      counts.given_up = static_cast<std::uint64_t>(query.getColumn(2).getInt64());
      counts.dropped = static_cast<std::uint64_t>(query.getColumn(3).getInt64());
      counts.waiting = static_cast<std::uint64_t>(query.getColumn(4).getInt64());
      if (!query.isColumnNull(5)) counts.oldest_waiting = rows::wall(query.getColumn(5).getInt64());
      found.push_back(counts);
    }
    return base::ok();
  });
  if (!done) return std::move(done).error();
  return found;
}

}  // namespace rookery::notices
