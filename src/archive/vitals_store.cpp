#include "archive/vitals_store.h"

#include <SQLiteCpp/SQLiteCpp.h>

#include <algorithm>
#include <map>

#include "archive/rows.h"
#include "archive/vitals_codes.h"
#include "base/log.h"

namespace rookery::archive {
namespace {

using std::chrono::days;
using std::chrono::minutes;

constexpr minutes kSteps[] = {minutes{1},   minutes{5},   minutes{15},  minutes{30},  minutes{60},
                              minutes{180}, minutes{360}, minutes{720}, minutes{1440}};

std::int64_t minute_of(base::WallTime at) {
  return std::chrono::floor<minutes>(at).time_since_epoch().count();
}
std::int64_t day_of(base::WallTime at) { return std::chrono::floor<days>(at).time_since_epoch().count(); }

VitalsCodes codes_of(const SQLite::Column& column) {
  VitalsCodes codes{};
  const auto size = std::min(codes.size(), static_cast<std::size_t>(column.getBytes()));
  if (size > 0) std::memcpy(codes.data(), column.getBlob(), size);
  return codes;
}

std::span<const std::byte> bytes_of(const SQLite::Column& column) {
  return {static_cast<const std::byte*>(column.getBlob()), static_cast<std::size_t>(column.getBytes())};
}

// What is packed of a day; a day that was never packed, or that cannot be read, is empty.
std::vector<VitalsCodes> packed_day(SQLite::Database& db, std::int64_t recorded, std::int64_t day) {
  SQLite::Statement query(db, "SELECT minutes FROM vitals_day WHERE recorded = ? AND day = ?");
  query.bind(1, recorded);
  query.bind(2, day);
  if (query.executeStep()) {
    auto unpacked = unpack_day(bytes_of(query.getColumn(0)));
    if (unpacked) return std::move(*unpacked);
    base::log_warning("vitals", "{}; it is begun anew", unpacked.error().text());
  }
  return std::vector<VitalsCodes>(kMinutesADay);
}

void save_day(SQLite::Database& db, std::int64_t recorded, std::int64_t day,
              std::span<const VitalsCodes> day_minutes) {
  const auto blob = pack_day(day_minutes);
  SQLite::Statement upsert(db,
                           "INSERT INTO vitals_day(recorded, day, minutes) VALUES(?, ?, ?)"
                           " ON CONFLICT(recorded, day) DO UPDATE SET minutes = excluded.minutes");
  upsert.bind(1, recorded);
  upsert.bind(2, day);
  upsert.bindNoCopy(3, blob.data(), static_cast<int>(blob.size()));
  upsert.exec();
}

constexpr auto kDay = static_cast<std::int64_t>(kMinutesADay);

std::vector<std::int64_t> days_to_pack(SQLite::Database& db, std::int64_t today) {
  // By leaps from day to day: a day of 300 cameras has 432 000 rows.
  SQLite::Statement next(db, "SELECT min(minute) FROM vitals_minute WHERE minute >= ?");
  std::vector<std::int64_t> found;
  for (std::int64_t from = INT64_MIN;;) {
    next.bind(1, from);
    if (!next.executeStep() || next.getColumn(0).isNull()) return found;
    const std::int64_t day = next.getColumn(0).getInt64() / kDay;
    if (day >= today) return found;
    found.push_back(day);
    from = (day + 1) * kDay;
    next.reset();
  }
}

void pack_one(SQLite::Database& db, std::int64_t day) {
  std::map<std::int64_t, std::vector<VitalsCodes>> of_cameras;
  SQLite::Statement query(
      db, "SELECT recorded, minute, codes FROM vitals_minute WHERE minute >= ? AND minute < ?");
  query.bind(1, day * kDay);
  query.bind(2, (day + 1) * kDay);
  while (query.executeStep()) {
    const std::int64_t recorded = query.getColumn(0).getInt64();
    auto [place, is_new] = of_cameras.try_emplace(recorded);
    if (is_new) place->second = packed_day(db, recorded, day);
    const std::int64_t into = query.getColumn(1).getInt64() - (day * kDay);
    VitalsCodes& minute = place->second.at(static_cast<std::size_t>(into));
    if (minute[0] == 0) minute = codes_of(query.getColumn(2));
  }
  for (const auto& [recorded, day_minutes] : of_cameras) save_day(db, recorded, day, day_minutes);
  SQLite::Statement remove(db, "DELETE FROM vitals_minute WHERE minute >= ? AND minute < ?");
  remove.bind(1, day * kDay);
  remove.bind(2, (day + 1) * kDay);
  remove.exec();
}

// Sums minutes up into the steps of a series.
class Steps {
 public:
  Steps(VitalsSeries& series, std::size_t count) : series_(series), sums_(count) {}

  void add(std::int64_t minute, const VitalsCodes& codes) {
    const std::int64_t into = minute - minute_of(series_.from);
    const auto step = std::chrono::duration_cast<minutes>(series_.step).count();
    if (into < 0 || into / step >= static_cast<std::int64_t>(sums_.size())) return;
    if (const auto vitals = from_codes(codes)) sums_[static_cast<std::size_t>(into / step)].add(*vitals);
  }
  void finish() {
    for (const camera::VitalsSum& sum : sums_) {
      if (sum.empty())
        series_.steps.emplace_back(std::nullopt);
      else
        series_.steps.emplace_back(sum.mean());
    }
  }

 private:
  VitalsSeries& series_;
  std::vector<camera::VitalsSum> sums_;
};

void add_packed(SQLite::Database& db, std::int64_t recorded, base::WallTime from, base::WallTime to,
                Steps& steps) {
  SQLite::Statement query(db,
                          "SELECT day, minutes FROM vitals_day WHERE recorded = ? AND day BETWEEN ? AND ?");
  query.bind(1, recorded);
  query.bind(2, day_of(from));
  query.bind(3, day_of(to));
  while (query.executeStep()) {
    const std::int64_t first = query.getColumn(0).getInt64() * static_cast<std::int64_t>(kMinutesADay);
    const auto unpacked = unpack_day(bytes_of(query.getColumn(1)));
    if (!unpacked) {
      base::log_warning("vitals", "{}; it is shown as not measured", unpacked.error().text());
      continue;
    }
    for (std::size_t minute = 0; minute < unpacked->size(); ++minute)
      steps.add(first + static_cast<std::int64_t>(minute), (*unpacked)[minute]);
  }
}

void add_loose(SQLite::Database& db, std::int64_t recorded, base::WallTime from, base::WallTime to,
               Steps& steps) {
  SQLite::Statement query(
      db, "SELECT minute, codes FROM vitals_minute WHERE minute >= ? AND minute < ? AND recorded = ?");
  query.bind(1, minute_of(from));
  query.bind(2, minute_of(to) + 1);
  query.bind(3, recorded);
  while (query.executeStep()) steps.add(query.getColumn(0).getInt64(), codes_of(query.getColumn(1)));
}

}  // namespace

void VitalsStore::put_later(base::WallTime at, Minutes of_cameras) {
  if (of_cameras.empty()) return;
  catalog_.write_later([at, of_cameras = std::move(of_cameras)](SQLite::Database& db) {
    SQLite::Statement insert(db,
                             "INSERT INTO vitals_minute(minute, recorded, codes) VALUES(?, ?, ?)"
                             " ON CONFLICT DO NOTHING");
    for (const auto& [camera, vitals] : of_cameras) {
      const VitalsCodes codes = to_codes(vitals);
      insert.bind(1, minute_of(at));
      insert.bind(2, rows::make_recorded(db, camera));
      insert.bindNoCopy(3, codes.data(), static_cast<int>(codes.size()));
      insert.exec();
      insert.reset();
    }
  });
}

base::Result<VitalsSeries> VitalsStore::between(const base::CameraName& camera, base::WallTime from,
                                                base::WallTime to) const {
  if (to <= from || to - from > kKeptFor + days{1}) {
    return base::Error(base::ErrorCode::invalid_value, "vitals",
                       fmt::format("{} to {} is no span of up to {} days", base::to_rfc3339(from),
                                   base::to_rfc3339(to), kKeptFor.count() + 1),
                       "Ask for an end after the start, and for at most 401 days at once.");
  }
  const auto fits = [&](minutes step) { return (to - from) / step < static_cast<std::int64_t>(kMostSteps); };
  const auto step = *std::ranges::find_if(kSteps, fits);
  // Steps begin where steps always do, so that the same hour is the same step in every answer.
  const base::WallTime first{(from.time_since_epoch() / step) * step};
  const auto count = static_cast<std::size_t>((to - first + step - base::Microseconds{1}) / step);
  VitalsSeries series{first, step, {}};
  Steps steps(series, count);
  auto done = catalog_.read([&](SQLite::Database& db) -> base::Result<void> {
    const auto recorded = rows::find_recorded(db, camera);
    if (!recorded) return base::ok();
    add_packed(db, *recorded, first, to, steps);
    add_loose(db, *recorded, first, to, steps);
    return base::ok();
  });
  if (!done) return done.error();
  steps.finish();
  return series;
}

base::Result<void> VitalsStore::pack(base::WallTime now) {
  const std::int64_t today = day_of(now);
  std::vector<std::int64_t> found;
  auto looked = catalog_.read([&](SQLite::Database& db) -> base::Result<void> {
    found = days_to_pack(db, today);
    return base::ok();
  });
  if (!looked) return looked;
  for (const std::int64_t day : found) {
    auto packed = catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
      pack_one(db, day);
      return base::ok();
    });
    if (!packed) return packed;
  }
  if (found.empty()) return base::ok();  // days grow old no oftener than new ones are packed
  return catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement remove(db, "DELETE FROM vitals_day WHERE day < ?");
    remove.bind(1, today - kKeptFor.count());
    remove.exec();
    return base::ok();
  });
}

}  // namespace rookery::archive
