#include "archive/age_clock.h"

#include <SQLiteCpp/SQLiteCpp.h>

#include "archive/rows.h"

namespace rookery::archive {
namespace {

using std::chrono::days;
using std::chrono::hours;
using std::chrono::minutes;

// The clock's own error between two looks: a slewed clock drifts 0.05 %, a step of NTP is below a second.
constexpr minutes kAgree{1};
constexpr hours kWorthSaying{24};
// A longer pause between two runs may hide that the clock was set.
constexpr hours kUsualPause{24};
// So long a clock that nobody sets again is believed after all.
constexpr days kBelieved{30};

base::Microseconds size_of(base::Microseconds difference) {
  return difference < base::Microseconds{0} ? -difference : difference;
}

std::string in_words(base::Microseconds span) {
  const double h = std::chrono::duration<double, std::ratio<3600>>(size_of(span)).count();
  return h < 48 ? fmt::format("{:.1f} h", h) : fmt::format("{:.1f} days", h / 24);
}

bool was_set(const AgeState& before, base::WallTime wall, std::optional<base::Microseconds> passed) {
  const base::Microseconds progress = wall - before.wall;
  if (passed) return size_of(progress - *passed) > kAgree;
  return progress < -kAgree || progress > kUsualPause;
}

}  // namespace

base::Microseconds AgeState::settles_in() const {
  if (size_of(ahead()) <= kAgree) return base::Microseconds{0};
  const base::Microseconds believed = std::max<base::Microseconds>(kBelieved - steady, base::Microseconds{0});
  return std::min(believed, size_of(ahead()));
}

bool AgeState::worth_saying() const { return size_of(ahead()) > kWorthSaying; }

// Trusted time runs after the computer's clock at most twice as fast as time passes, and waits when it is
// ahead.
AgeState advance(const AgeState& before, base::WallTime wall, std::optional<base::Microseconds> passed) {
  const base::Microseconds ran = std::max(passed.value_or(base::Microseconds{0}), base::Microseconds{0});
  AgeState after = before;
  after.wall = wall;
  if (before.trusted <= wall) after.trusted = std::min(wall, before.trusted + 2 * ran);
  const bool agree = size_of(after.ahead()) <= kAgree;
  after.steady = agree || was_set(before, wall, passed) ? base::Microseconds{0} : before.steady + ran;
  if (agree || after.steady >= kBelieved) {
    after.trusted = wall;
    after.steady = base::Microseconds{0};
  }
  return after;
}

base::Error explain(const AgeState& state) {
  const std::string apart = in_words(state.ahead());
  const std::string settles = in_words(state.settles_in());
  const std::string wall = base::to_rfc3339(state.wall);
  if (state.ahead() >= base::Microseconds{0}) {
    return {
        base::ErrorCode::refused, "clock",
        fmt::format("the computer's clock says {}, {} more than this station has seen pass: it was off for "
                    "long, or the clock is wrong. So that nothing goes early, recordings count as {} "
                    "younger than they may be",
                    wall, apart, apart),
        fmt::format("If the date is right, say so with `rookery archive confirm-clock`; if not, set the "
                    "computer's clock. By itself it settles after {} of running.",
                    settles)};
  }
  return {base::ErrorCode::refused, "clock",
          fmt::format("the computer's clock says {}, {} less than it was already: it is wrong now, or it was "
                      "wrong before. Recordings that are made now get that date, and ages count by it",
                      wall, apart),
          fmt::format("Set the computer's clock; or, if the date is right, say so with `rookery archive "
                      "confirm-clock`. By itself it settles after {} of running.",
                      settles)};
}

base::Result<std::optional<AgeStore::Stored>> AgeStore::load() const {
  std::optional<Stored> stored;
  auto done = catalog_.read([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement query(db, "SELECT trusted_us, wall_us, steady_us, confirmations FROM age_clock");
    if (!query.executeStep()) return base::ok();
    stored = Stored{{rows::wall(query.getColumn(0).getInt64()), rows::wall(query.getColumn(1).getInt64()),
                     base::Microseconds{query.getColumn(2).getInt64()}},
                    query.getColumn(3).getInt64()};
    return base::ok();
  });
  if (!done) return done.error();
  return stored;
}

void AgeStore::save_later(const AgeState& state) {
  catalog_.write_later("age clock", [state](SQLite::Database& db) {
    SQLite::Statement save(db,
                           "INSERT INTO age_clock(id, trusted_us, wall_us, steady_us, confirmations)"
                           " VALUES(1, ?1, ?2, ?3, 0) ON CONFLICT(id) DO UPDATE SET trusted_us = ?1,"
                           " wall_us = ?2, steady_us = ?3");
    save.bind(1, rows::micros(state.trusted));
    save.bind(2, rows::micros(state.wall));
    save.bind(3, static_cast<std::int64_t>(state.steady.count()));
    save.exec();
  });
}

base::Result<void> AgeStore::confirm(base::WallTime wall) {
  return catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement save(db,
                           "INSERT INTO age_clock(id, trusted_us, wall_us, steady_us, confirmations)"
                           " VALUES(1, ?1, ?1, 0, 1) ON CONFLICT(id) DO UPDATE SET trusted_us = ?1,"
                           " wall_us = ?1, steady_us = 0, confirmations = confirmations + 1");
    save.bind(1, rows::micros(wall));
    save.exec();
    return base::ok();
  });
}

base::Result<AgeState> AgeStore::first(base::WallTime wall) const {
  AgeState state{wall, wall, base::Microseconds{0}};
  auto done = catalog_.read([&](SQLite::Database& db) -> base::Result<void> {
    // By the index on (recorded, start_us): no scan, however many segments there are. One that a wrong clock
    // dated into the future tells nothing.
    SQLite::Statement query(db,
                            "SELECT max((SELECT start_us FROM segment WHERE recorded = recorded.id"
                            " AND start_us <= ? ORDER BY start_us DESC LIMIT 1)) FROM recorded");
    query.bind(1, rows::micros(wall));
    if (query.executeStep() && !query.getColumn(0).isNull())
      state.trusted = rows::wall(query.getColumn(0).getInt64());
    return base::ok();
  });
  if (!done) return done.error();
  return state;
}

}  // namespace rookery::archive
