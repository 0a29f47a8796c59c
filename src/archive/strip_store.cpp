#include "archive/strip_store.h"

#include <SQLiteCpp/SQLiteCpp.h>

#include "archive/rows.h"

namespace rookery::archive {
namespace {

using std::chrono::hours;

constexpr std::size_t kStepsAnHour = 360;
static_assert(hours{1} / kStripStep == kStepsAnHour);

// One row's blob: 360 times {energy, health}.
using HourBlob = std::array<std::uint8_t, 2 * kStepsAnHour>;

base::WallTime step_start(base::WallTime at) {
  const auto since = std::chrono::floor<std::chrono::seconds>(at).time_since_epoch();
  const std::int64_t seconds = since.count();
  const std::int64_t into = ((seconds % kStripStep.count()) + kStripStep.count()) % kStripStep.count();
  return base::WallTime{std::chrono::seconds{seconds - into}};
}

std::int64_t hour_of(base::WallTime at) { return std::chrono::floor<hours>(at).time_since_epoch().count(); }

std::size_t step_in_hour(base::WallTime at) {
  return static_cast<std::size_t>((at - std::chrono::floor<hours>(at)) / kStripStep);
}

// A health that this program does not know reads as none.
Health health_of(std::uint8_t byte) { return byte <= 3 ? static_cast<Health>(byte) : Health::none; }

HourBlob load(const SQLite::Column& column) {
  HourBlob blob{};
  const auto size = std::min(blob.size(), static_cast<std::size_t>(column.getBytes()));
  if (size > 0) std::memcpy(blob.data(), column.getBlob(), size);
  return blob;
}

HourBlob load_hour(SQLite::Database& db, std::int64_t recorded, std::int64_t hour) {
  SQLite::Statement query(db, "SELECT steps FROM strip WHERE recorded = ? AND hour = ?");
  query.bind(1, recorded);
  query.bind(2, hour);
  return query.executeStep() ? load(query.getColumn(0)) : HourBlob{};
}

void save_hour(SQLite::Database& db, std::int64_t recorded, std::int64_t hour, const HourBlob& blob) {
  SQLite::Statement upsert(db,
                           "INSERT INTO strip(recorded, hour, steps) VALUES(?, ?, ?)"
                           " ON CONFLICT(recorded, hour) DO UPDATE SET steps = excluded.steps");
  upsert.bind(1, recorded);
  upsert.bind(2, hour);
  upsert.bindNoCopy(3, blob.data(), static_cast<int>(blob.size()));
  upsert.exec();
}

}  // namespace

void StripStore::put_later(const base::CameraName& camera, base::WallTime at, StripStep step) {
  Strip strip{step_start(at), {step}};
  std::string key = fmt::format("strip {} {}", camera.text(), rows::micros(strip.from));
  catalog_.write_later(std::move(key),
                       [camera, strip = std::move(strip)](SQLite::Database& db) { put(db, camera, strip); });
}

namespace {

void store(SQLite::Database& db, const base::CameraName& camera, const Strip& strip, bool only_unknown) {
  const std::int64_t recorded = rows::make_recorded(db, camera);
  base::WallTime at = step_start(strip.from);
  for (std::size_t i = 0; i < strip.steps.size();) {
    const std::int64_t hour = hour_of(at);
    HourBlob blob = load_hour(db, recorded, hour);
    for (; i < strip.steps.size() && hour_of(at) == hour; ++i, at += kStripStep) {
      const std::size_t place = 2 * step_in_hour(at);
      if (only_unknown && health_of(blob[place + 1]) != Health::none) continue;
      blob[place] = strip.steps[i].energy;
      blob[place + 1] = static_cast<std::uint8_t>(strip.steps[i].health);
    }
    save_hour(db, recorded, hour, blob);
  }
}

}  // namespace

void StripStore::put(SQLite::Database& db, const base::CameraName& camera, const Strip& strip) {
  store(db, camera, strip, false);
}

void StripStore::fill(SQLite::Database& db, const base::CameraName& camera, const Strip& strip) {
  store(db, camera, strip, true);
}

base::Result<Strip> StripStore::between(const base::CameraName& camera, base::WallTime from,
                                        base::WallTime to) const {
  constexpr std::chrono::days kMost{31};
  if (to < from || to - from > kMost) {
    return base::Error(base::ErrorCode::invalid_value, "strip",
                       fmt::format("{} to {} is no span of up to {} days", base::to_rfc3339(from),
                                   base::to_rfc3339(to), kMost.count()),
                       "Ask for an end after the start, and for at most 31 days at once.");
  }
  Strip strip{step_start(from), {}};
  base::WallTime end = step_start(to);
  if (end < to || end == strip.from) end += kStripStep;
  strip.steps.resize(static_cast<std::size_t>((end - strip.from) / kStripStep));
  auto done = catalog_.read([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement query(db,
                            "SELECT hour, steps FROM strip JOIN recorded ON recorded.id = strip.recorded"
                            " WHERE recorded.camera = ? AND hour BETWEEN ? AND ?");
    query.bind(1, camera.text());
    query.bind(2, hour_of(strip.from));
    query.bind(3, hour_of(to));
    while (query.executeStep()) {
      const base::WallTime hour{hours{query.getColumn(0).getInt64()}};
      const HourBlob blob = load(query.getColumn(1));
      for (std::size_t i = 0; i < kStepsAnHour; ++i) {
        const auto offset = (hour - strip.from) / kStripStep + static_cast<std::int64_t>(i);
        if (offset < 0 || offset >= static_cast<std::int64_t>(strip.steps.size())) continue;
        strip.steps[static_cast<std::size_t>(offset)] = {blob[2 * i], health_of(blob[2 * i + 1])};
      }
    }
    return base::ok();
  });
  if (!done) return done.error();
  return strip;
}

}  // namespace rookery::archive
