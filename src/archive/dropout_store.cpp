#include "archive/dropout_store.h"

#include <SQLiteCpp/SQLiteCpp.h>

#include "archive/dropout_json.h"
#include "archive/rows.h"

namespace rookery::archive {
namespace {

constexpr std::chrono::days kRemembered{30};
constexpr int kRememberedMost = 100;

void bind_or_null(SQLite::Statement& statement, int at, const std::optional<double>& value) {
  if (value) {
    statement.bind(at, *value);
  } else {
    statement.bind(at);
  }
}

std::optional<double> real_or_none(const SQLite::Column& column) {
  if (column.isNull()) return std::nullopt;
  return column.getDouble();
}

void put(SQLite::Database& db, const Dropout& dropout) {
  const std::int64_t recorded = rows::make_recorded(db, dropout.camera);
  SQLite::Statement upsert(
      db,
      "INSERT INTO dropout(recorded, began_us, back_us, cause, restarted, streamed_s, uptime_s,"
      " booted_after_s, told) VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?)"
      " ON CONFLICT(recorded, began_us) DO UPDATE SET back_us = excluded.back_us,"
      " cause = excluded.cause, restarted = excluded.restarted, streamed_s = excluded.streamed_s,"
      " uptime_s = excluded.uptime_s, booted_after_s = excluded.booted_after_s,"
      " told = excluded.told");
  upsert.bind(1, recorded);
  upsert.bind(2, rows::micros(dropout.began));
  if (dropout.back) {
    upsert.bind(3, rows::micros(*dropout.back));
  } else {
    upsert.bind(3);
  }
  const auto& named = dropout.ranking.named;
  upsert.bind(4, named ? std::string(camera::name_of(*named)) : std::string());
  upsert.bind(5, dropout.ranking.restarted ? 1 : 0);
  upsert.bind(6, dropout.streamed_for_s);
  bind_or_null(upsert, 7, dropout.uptime_before_s);
  bind_or_null(upsert, 8, dropout.booted_after_s);
  upsert.bind(9, ranking_text(dropout.ranking));
  upsert.exec();
  SQLite::Statement trim(
      db,
      "DELETE FROM dropout WHERE recorded = ?1 AND (began_us < ?2 OR began_us < (SELECT began_us"
      " FROM dropout WHERE recorded = ?1 ORDER BY began_us DESC LIMIT 1 OFFSET ?3))");
  trim.bind(1, recorded);
  trim.bind(2, rows::micros(dropout.began - DropoutStore::kKept));
  trim.bind(3, static_cast<std::int64_t>(DropoutStore::kMostOfOne - 1));
  trim.exec();
}

}  // namespace

std::string DropoutSummary::text() const {
  std::string out =
      fmt::format("In the last {} days: {} dropout{}", days, dropouts, dropouts == 1 ? "" : "s");
  for (std::size_t n = 0; n < camera::kCauses; ++n) {
    if (named[n] > 0)
      out += fmt::format(", {} {}", named[n], camera::title_of(static_cast<camera::Cause>(n)));
  }
  if (restarted > 0) out += fmt::format(", {} restarted without a known cause", restarted);
  if (unclear > 0) out += fmt::format(", {} not enough to tell", unclear);
  return out;
}

void DropoutStore::put_later(const Dropout& dropout) {
  // Of what is told twice only the last matters.
  catalog_.write_later(fmt::format("dropout {} {}", dropout.camera.text(), rows::micros(dropout.began)),
                       [dropout](SQLite::Database& db) { put(db, dropout); });
}

base::Result<std::vector<Dropout>> DropoutStore::list(const base::CameraName& camera, std::size_t limit,
                                                      std::optional<base::WallTime> before) const {
  std::vector<Dropout> out;
  auto done = catalog_.read([&](SQLite::Database& db) -> base::Result<void> {
    const auto recorded = rows::find_recorded(db, camera);
    if (!recorded) return base::ok();
    SQLite::Statement query(
        db,
        "SELECT began_us, back_us, streamed_s, uptime_s, booted_after_s, told FROM dropout"
        " WHERE recorded = ? AND began_us < ? ORDER BY began_us DESC LIMIT ?");
    query.bind(1, *recorded);
    query.bind(2, before ? rows::micros(*before) : INT64_MAX);
    query.bind(3, static_cast<std::int64_t>(limit));
    while (query.executeStep()) {
      Dropout dropout(camera);
      dropout.began = rows::wall(query.getColumn(0).getInt64());
      if (!query.getColumn(1).isNull()) dropout.back = rows::wall(query.getColumn(1).getInt64());
      dropout.streamed_for_s = query.getColumn(2).getDouble();
      dropout.uptime_before_s = real_or_none(query.getColumn(3));
      dropout.booted_after_s = real_or_none(query.getColumn(4));
      dropout.ranking = parse_ranking(query.getColumn(5).getString());
      out.push_back(std::move(dropout));
    }
    return base::ok();
  });
  if (!done) return done.error();
  return out;
}

base::Result<DropoutSummary> DropoutStore::summary(const base::CameraName& camera, base::WallTime now,
                                                   int days) const {
  DropoutSummary out;
  out.days = days;
  auto done = catalog_.read([&](SQLite::Database& db) -> base::Result<void> {
    const auto recorded = rows::find_recorded(db, camera);
    if (!recorded) return base::ok();
    SQLite::Statement query(
        db,
        "SELECT cause, restarted, count(*) FROM dropout WHERE recorded = ? AND began_us >= ?"
        " GROUP BY cause, restarted");
    query.bind(1, *recorded);
    query.bind(2, rows::micros(now - std::chrono::days(days)));
    while (query.executeStep()) {
      const int count = query.getColumn(2).getInt();
      out.dropouts += count;
      if (const auto cause = camera::dropout_cause_of(query.getColumn(0).getString())) {
        out.named[static_cast<std::size_t>(*cause)] += count;
      } else {
        (query.getColumn(1).getInt() != 0 ? out.restarted : out.unclear) += count;
      }
    }
    return base::ok();
  });
  if (!done) return done.error();
  return out;
}

base::Result<std::vector<camera::PastDropout>> DropoutStore::past(const base::CameraName& camera,
                                                                  base::WallTime now) const {
  std::vector<camera::PastDropout> out;
  auto done = catalog_.read([&](SQLite::Database& db) -> base::Result<void> {
    const auto recorded = rows::find_recorded(db, camera);
    if (!recorded) return base::ok();
    SQLite::Statement query(
        db,
        "SELECT began_us, restarted, streamed_s, uptime_s, booted_after_s, told FROM dropout"
        " WHERE recorded = ? AND began_us >= ? ORDER BY began_us DESC LIMIT ?");
    query.bind(1, *recorded);
    query.bind(2, rows::micros(now - kRemembered));
    query.bind(3, kRememberedMost);
    while (query.executeStep()) {
      camera::PastDropout one;
      one.began = rows::wall(query.getColumn(0).getInt64());
      one.restarted = query.getColumn(1).getInt() != 0;
      one.streamed_for_s = query.getColumn(2).getDouble();
      one.uptime_before_s = real_or_none(query.getColumn(3));
      one.booted_after_s = real_or_none(query.getColumn(4));
      one.own = parse_ranking(query.getColumn(5).getString()).own;
      out.push_back(one);
    }
    return base::ok();
  });
  if (!done) return done.error();
  return out;
}

}  // namespace rookery::archive
