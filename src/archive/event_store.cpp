#include "archive/event_store.h"

#include <SQLiteCpp/SQLiteCpp.h>

#include <algorithm>
#include <charconv>

#include "archive/rows.h"

namespace rookery::archive {
namespace {

using Cause = Event::Cause;

// Recorded times are whole milliseconds.
constexpr const char* kColumns =
    "event.id, camera, cause, start_us, end_us, under_way, peak, x, y, w, h, best_us, kept, detail, job, "
    "EXISTS(SELECT 1 FROM segment WHERE segment.recorded = event.recorded AND segment.start_us <= best_us "
    "AND segment.start_us >= best_us - longest_us - 1000 AND segment.end_us > best_us - 1000)";

Cause cause_of(std::string_view word) { return event_cause_of(word).value_or(Cause::motion); }

base::Result<Event> event_of(SQLite::Statement& row) {
  auto name = base::CameraName::parse(row.getColumn(1).getString());
  if (!name) return name.error();
  Event event(std::move(*name));
  event.id = row.getColumn(0).getInt64();
  event.cause = cause_of(row.getColumn(2).getString());
  event.start = rows::wall(row.getColumn(3).getInt64());
  event.end = rows::wall(row.getColumn(4).getInt64());
  event.under_way = row.getColumn(5).getInt() != 0;
  event.peak = row.getColumn(6).getDouble();
  event.region = {row.getColumn(7).getDouble(), row.getColumn(8).getDouble(), row.getColumn(9).getDouble(),
                  row.getColumn(10).getDouble()};
  event.best_at = rows::wall(row.getColumn(11).getInt64());
  event.kept = row.getColumn(12).getInt() != 0;
  event.detail = row.getColumn(13).getString();
  if (!row.isColumnNull(14)) event.job = row.getColumn(14).getInt64();
  event.has_still = row.getColumn(15).getInt() != 0;
  return event;
}

base::Result<Event> find_in(SQLite::Database& db, std::int64_t id) {
  SQLite::Statement query(db,
                          std::string("SELECT ") + kColumns +
                              " FROM event JOIN recorded ON recorded.id = event.recorded WHERE event.id = ?");
  query.bind(1, id);
  if (query.executeStep()) return event_of(query);
  return base::Error(
      base::ErrorCode::not_found, "event", fmt::format("there is no event {}", id),
      "It may have been taken away because it was the oldest; `rookery events` shows those there are.");
}

void put(SQLite::Database& db, const Event& event) {
  SQLite::Statement upsert(
      db,
      "INSERT INTO event(id, recorded, cause, start_us, end_us, under_way, peak, x, y, w, h, best_us, "
      "detail, job)"
      " VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT(id) DO UPDATE SET cause = "
      "excluded.cause, "
      "start_us ="
      " excluded.start_us, end_us = excluded.end_us,"
      " under_way = excluded.under_way, peak = excluded.peak, x = excluded.x, y = excluded.y, w = excluded.w,"
      " h = excluded.h, best_us = excluded.best_us");
  upsert.bind(1, event.id);
  upsert.bind(2, rows::make_recorded(db, event.camera));
  upsert.bind(3, std::string(name_of(event.cause)));
  upsert.bind(4, rows::micros(event.start));
  upsert.bind(5, rows::micros(event.end));
  upsert.bind(6, event.under_way ? 1 : 0);
  upsert.bind(7, event.peak);
  upsert.bind(8, event.region.x);
  upsert.bind(9, event.region.y);
  upsert.bind(10, event.region.width);
  upsert.bind(11, event.region.height);
  upsert.bind(12, rows::micros(event.best_at));
  upsert.bind(13, event.detail);
  if (event.job) upsert.bind(14, *event.job);
  upsert.exec();
}

// What is seen of an event without its details.
struct Seen {
  EventCursor at;
  bool wanted = false;
};

// Goes down the log of one camera, or of all, in one index: cheap for each event that is passed over.
class Walk {
 public:
  Walk(SQLite::Database& db, const EventQuery& query, std::optional<std::int64_t> recorded,
       std::int64_t longest_us)
      : query_(query),
        statement_(db, std::string("SELECT start_us, id, end_us, cause, peak, kept FROM event WHERE ") +
                           (recorded ? "recorded = ?4 AND " : "") +
                           "start_us >= ?1 AND (start_us, id) < (?2, ?3) ORDER BY start_us DESC, id DESC") {
    EventCursor before{base::WallTime::max(), INT64_MAX};
    if (query.to) before = std::min(before, EventCursor{*query.to, INT64_MAX});
    if (query.before) before = std::min(before, *query.before);
    statement_.bind(1, query.from ? rows::micros(*query.from) - longest_us : INT64_MIN);
    statement_.bind(2, rows::micros(before.start));
    statement_.bind(3, before.id);
    if (recorded) statement_.bind(4, *recorded);
  }

  std::optional<Seen> step() {
    if (!statement_.executeStep()) return std::nullopt;
    Seen seen{{rows::wall(statement_.getColumn(0).getInt64()), statement_.getColumn(1).getInt64()}};
    seen.wanted = is_wanted();
    return seen;
  }

 private:
  bool is_wanted() {
    if (query_.from && rows::wall(statement_.getColumn(2).getInt64()) < *query_.from) return false;
    if (statement_.getColumn(4).getDouble() < query_.least_peak) return false;
    if (query_.kept && *query_.kept != (statement_.getColumn(5).getInt() != 0)) return false;
    return query_.causes.empty() ||
           std::ranges::find(query_.causes, cause_of(statement_.getColumn(3).getString())) !=
               query_.causes.end();
  }

  const EventQuery& query_;
  SQLite::Statement statement_;
};

// The logs of several cameras as one: the newest of their next events is the next.
class Merge {
 public:
  void add(std::unique_ptr<Walk> walk) {
    if (auto seen = walk->step()) heads_.push_back({*seen, std::move(walk)});
  }
  void start() { std::ranges::make_heap(heads_, older); }
  std::optional<Seen> step() {
    if (heads_.empty()) return std::nullopt;
    std::ranges::pop_heap(heads_, older);
    Head& head = heads_.back();
    const Seen seen = head.seen;
    if (auto next = head.walk->step()) {
      head.seen = *next;
      std::ranges::push_heap(heads_, older);
    } else {
      heads_.pop_back();
    }
    return seen;
  }

 private:
  struct Head {
    Seen seen;
    std::unique_ptr<Walk> walk;
  };
  static bool older(const Head& a, const Head& b) { return a.seen.at < b.seen.at; }
  std::vector<Head> heads_;
};

Merge logs_of(SQLite::Database& db, const EventQuery& query) {
  Merge merge;
  if (!query.cameras) {
    const std::int64_t longest =
        db.execAndGet("SELECT coalesce(max(longest_event_us), 0) FROM recorded").getInt64();
    merge.add(std::make_unique<Walk>(db, query, std::nullopt, longest));
    return merge;
  }
  SQLite::Statement recorded(db, "SELECT id, longest_event_us FROM recorded WHERE camera = ?");
  for (const base::CameraName& camera : *query.cameras) {
    recorded.bind(1, camera.text());
    if (recorded.executeStep()) {
      merge.add(std::make_unique<Walk>(db, query, recorded.getColumn(0).getInt64(),
                                       recorded.getColumn(1).getInt64()));
    }
    recorded.reset();
  }
  merge.start();
  return merge;
}

}  // namespace

std::string EventCursor::text() const { return fmt::format("{}-{}", rows::micros(start), id); }

base::Result<EventCursor> EventCursor::parse(std::string_view text) {
  std::int64_t start = 0;
  std::int64_t id = 0;
  const char* end = text.data() + text.size();
  const auto first = std::from_chars(text.data(), end, start);
  if (first.ec == std::errc() && first.ptr != end && *first.ptr == '-') {
    const auto second = std::from_chars(first.ptr + 1, end, id);
    if (second.ec == std::errc() && second.ptr == end) return EventCursor{rows::wall(start), id};
  }
  return base::Error(base::ErrorCode::malformed, "before",
                     fmt::format("\"{}\" is no place in the log", text.substr(0, 60)),
                     "Send the \"next\" of the answer before, as it is.");
}

base::Result<std::int64_t> EventStore::last_id() const {
  std::int64_t last = 0;
  auto done = catalog_.read([&](SQLite::Database& db) -> base::Result<void> {
    last = db.execAndGet("SELECT coalesce(max(id), 0) FROM event").getInt64();
    return base::ok();
  });
  if (!done) return done.error();
  return last;
}

void EventStore::put_later(const Event& event) {
  // What it was in between matters to nobody.
  catalog_.write_later(fmt::format("event {}", event.id), [event](SQLite::Database& db) { put(db, event); });
}

base::Result<std::uint64_t> EventStore::end_all() {
  std::uint64_t ended = 0;
  auto done = catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    ended = static_cast<std::uint64_t>(db.exec("UPDATE event SET under_way = 0 WHERE under_way = 1"));
    return base::ok();
  });
  if (!done) return done.error();
  return ended;
}

base::Result<EventPage> EventStore::page(const EventQuery& query) const {
  EventPage page;
  auto done = catalog_.read([&](SQLite::Database& db) -> base::Result<void> {
    Merge log = logs_of(db, query);
    std::optional<EventCursor> last;
    for (std::size_t looked_at = 0; looked_at < kLookedAt && page.events.size() < query.limit; ++looked_at) {
      const auto seen = log.step();
      if (!seen) return base::ok();
      last = seen->at;
      if (!seen->wanted) continue;
      auto event = find_in(db, seen->at.id);
      if (!event) return event.error();
      page.events.push_back(std::move(*event));
    }
    if (log.step()) page.next = last;
    return base::ok();
  });
  if (!done) return done.error();
  return page;
}

base::Result<Event> EventStore::find(std::int64_t id) const {
  std::optional<Event> found;
  auto done = catalog_.read([&](SQLite::Database& db) -> base::Result<void> {
    auto event = find_in(db, id);
    if (!event) return event.error();
    found = std::move(*event);
    return base::ok();
  });
  if (!done) return done.error();
  return *std::move(found);
}

base::Result<Event> EventStore::set_kept(std::int64_t id, bool kept) {
  std::optional<Event> found;
  auto done = catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement update(db, "UPDATE event SET kept = ? WHERE id = ?");
    update.bind(1, kept ? 1 : 0);
    update.bind(2, id);
    update.exec();
    auto event = find_in(db, id);
    if (!event) return event.error();
    found = std::move(*event);
    return base::ok();
  });
  if (!done) return done.error();
  return *std::move(found);
}

base::Result<std::vector<Event>> EventStore::kept_between(const base::CameraName& camera, base::WallTime from,
                                                          base::WallTime to) const {
  std::vector<Event> events;
  auto done = catalog_.read([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement query(db, std::string("SELECT ") + kColumns +
                                    " FROM event JOIN recorded ON recorded.id = event.recorded"
                                    " WHERE kept = 1 AND camera = ?1 AND event.start_us <= ?3 AND"
                                    " event.start_us >= ?2 - longest_event_us AND event.end_us >= ?2");
    query.bind(1, camera.text());
    query.bind(2, rows::micros(from));
    query.bind(3, rows::micros(to));
    while (query.executeStep()) {
      auto event = event_of(query);
      if (!event) return event.error();
      events.push_back(std::move(*event));
    }
    return base::ok();
  });
  if (!done) return done.error();
  return events;
}

base::Result<std::uint64_t> EventStore::trim(std::uint64_t most) {
  // So many rows go in one transaction: others wait for their turn no longer than that.
  constexpr std::uint64_t kBatch = 10'000;
  std::uint64_t gone = 0;
  auto done = catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    // Ids are given in turn: there are at most so many, which is known without counting.
    const std::int64_t bound =
        db.execAndGet("SELECT coalesce((SELECT max(id) FROM event) - (SELECT min(id) FROM event) + 1, 0)")
            .getInt64();
    if (static_cast<std::uint64_t>(bound) <= most) return base::ok();
    const auto loose =
        static_cast<std::uint64_t>(db.execAndGet("SELECT count(*) FROM event WHERE kept = 0").getInt64());
    if (loose <= most) return base::ok();
    SQLite::Statement remove(
        db,
        "DELETE FROM event WHERE id IN (SELECT id FROM event WHERE kept = 0 AND under_way = 0"
        " ORDER BY start_us, id LIMIT ?)");
    remove.bind(1, static_cast<std::int64_t>(std::min(loose - most, kBatch)));
    gone = static_cast<std::uint64_t>(remove.exec());
    return base::ok();
  });
  if (!done) return done.error();
  return gone;
}

}  // namespace rookery::archive
