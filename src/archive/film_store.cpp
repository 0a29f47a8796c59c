#include "archive/film_store.h"

#include <SQLiteCpp/SQLiteCpp.h>

#include "archive/rows.h"
#include "base/printable.h"

namespace rookery::archive {
namespace {

using base::Error;
using base::ErrorCode;
using base::Result;

constexpr const char* kSelect = "SELECT job, length_s, state, bytes, made_us, told, begun FROM film ";
constexpr double kLongest_s = 3600;
constexpr std::size_t kMostTold = 400;

FilmState state_of(std::string_view word) {
  if (word == "made") return FilmState::made;
  return word == "failed" ? FilmState::failed : FilmState::wanted;
}

JobFilm film_of(SQLite::Statement& row) {
  JobFilm film;
  film.job = row.getColumn(0).getInt64();
  film.length_s = row.getColumn(1).getDouble();
  film.state = state_of(row.getColumn(2).getString());
  film.bytes = static_cast<std::uint64_t>(std::max<std::int64_t>(row.getColumn(3).getInt64(), 0));
  if (!row.isColumnNull(4)) film.made = rows::wall(row.getColumn(4).getInt64());
  film.told = row.getColumn(5).getString();
  film.begun = row.getColumn(6).getInt();
  return film;
}

Result<std::vector<JobFilm>> films_where(const Catalog& catalog, const std::string& rest,
                                         const std::function<void(SQLite::Statement&)>& bind) {
  std::vector<JobFilm> films;
  auto done = catalog.read([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement query(db, kSelect + rest);
    bind(query);
    while (query.executeStep()) films.push_back(film_of(query));
    return base::ok();
  });
  if (!done) return done.error();
  return films;
}

Result<std::optional<JobFilm>> first_of(Result<std::vector<JobFilm>> films) {
  if (!films) return films.error();
  if (films->empty()) return std::optional<JobFilm>{};
  return std::optional<JobFilm>(std::move(films->front()));
}

Result<void> no_film_of(std::int64_t job) {
  return Error(ErrorCode::not_found, "film", fmt::format("none of job {} is wanted", job));
}

Result<void> may_have_film(SQLite::Database& db, std::int64_t job) {
  SQLite::Statement query(db, "SELECT end_us IS NULL FROM job WHERE id = ?");
  query.bind(1, job);
  if (!query.executeStep())
    return Error(ErrorCode::not_found, "job", fmt::format("there is no job {}", job),
                 "`rookery job list` shows those there are.");
  if (query.getColumn(0).getInt() != 0)
    return Error(ErrorCode::busy, "job", fmt::format("job {} is under way", job),
                 "Its film is made when it is over; until then make one of a span of the recording.");
  return base::ok();
}

}  // namespace

std::string_view name_of(FilmState state) {
  switch (state) {
    case FilmState::wanted:
      return "wanted";
    case FilmState::made:
      return "made";
    case FilmState::failed:
      return "failed";
  }
  return "wanted";
}

std::filesystem::path film_file(const std::filesystem::path& home, std::int64_t job) {
  return home / "films" / fmt::format("{}.mp4", job);
}

Result<void> remove_film_file(Disk& disk, const std::filesystem::path& home, std::int64_t job) {
  auto removed = disk.remove(film_file(home, job));
  if (!removed && removed.error().code == ErrorCode::not_found) return base::ok();
  return removed;
}

void FilmStore::want_in(SQLite::Database& db, std::int64_t job, double length_s) {
  SQLite::Statement upsert(
      db,
      "INSERT INTO film(job, length_s, state, turn) VALUES(?1, ?2, 'wanted', (SELECT coalesce(max(turn), 0) "
      "+ 1"
      " FROM film)) ON CONFLICT(job) DO UPDATE SET length_s = excluded.length_s, state = 'wanted', turn ="
      " excluded.turn, told = '', begun = 0");
  upsert.bind(1, job);
  upsert.bind(2, length_s);
  upsert.exec();
}

Result<JobFilm> FilmStore::want(std::int64_t job, double length_s) {
  if (!(length_s >= 1 && length_s <= kLongest_s))
    return Error(ErrorCode::invalid_value, "film", fmt::format("{} s is no length of a film", length_s),
                 "Give 1 to 3600 s.");
  auto done = catalog_.write([&](SQLite::Database& db) -> Result<void> {
    if (auto may = may_have_film(db, job); !may) return may;
    want_in(db, job, length_s);
    return base::ok();
  });
  if (!done) return done.error();
  JobFilm film;
  film.job = job;
  film.length_s = length_s;
  return film;
}

Result<void> FilmStore::note_begun(std::int64_t job) {
  return catalog_.write([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement update(db, "UPDATE film SET begun = begun + 1 WHERE job = ?");
    update.bind(1, job);
    update.exec();
    return base::ok();
  });
}

void FilmStore::put_back_later(std::int64_t job) {
  catalog_.write_later(fmt::format("film put back {}", job), [job](SQLite::Database& db) {
    SQLite::Statement update(db, "UPDATE film SET begun = 0 WHERE job = ?");
    update.bind(1, job);
    update.exec();
  });
}

Result<void> FilmStore::note_made(std::int64_t job, std::uint64_t bytes, const std::string& told,
                                  base::WallTime at) {
  return catalog_.write([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement update(
        db, "UPDATE film SET state = 'made', bytes = ?, made_us = ?, told = ? WHERE job = ?");
    update.bind(1, rows::stored(bytes));
    update.bind(2, rows::micros(at));
    update.bind(3, base::printable(told, kMostTold));
    update.bind(4, job);
    return update.exec() > 0 ? base::ok() : no_film_of(job);
  });
}

Result<void> FilmStore::note_failed(std::int64_t job, const std::string& told) {
  return catalog_.write([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement update(
        db,
        "UPDATE film SET state = CASE WHEN made_us IS NULL THEN 'failed' ELSE 'made' END,"
        " told = CASE WHEN made_us IS NULL THEN '' ELSE 'not made anew: ' END || ?"
        " WHERE job = ?");
    update.bind(1, base::printable(told, kMostTold));
    update.bind(2, job);
    return update.exec() > 0 ? base::ok() : no_film_of(job);
  });
}

Result<void> FilmStore::forget(std::int64_t job) {
  return catalog_.write([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement remove(db, "DELETE FROM film WHERE job = ?");
    remove.bind(1, job);
    remove.exec();
    return base::ok();
  });
}

Result<std::optional<JobFilm>> FilmStore::find(std::int64_t job) const {
  return first_of(
      films_where(catalog_, "WHERE job = ?", [job](SQLite::Statement& query) { query.bind(1, job); }));
}

Result<std::optional<JobFilm>> FilmStore::next_wanted() const {
  return first_of(
      films_where(catalog_, "WHERE state = 'wanted' ORDER BY turn, job LIMIT 1", [](SQLite::Statement&) {}));
}

Result<std::optional<base::WallTime>> FilmStore::stills_wanted_from(const base::CameraName& camera,
                                                                    bool each_ends_with_one) const {
  std::optional<base::WallTime> from;
  auto done = catalog_.read([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement query(
        db,
        "SELECT min(start_us) FROM job JOIN recorded ON recorded.id = job.recorded LEFT JOIN film ON film.job"
        " = job.id WHERE camera = ?1 AND (film.state = 'wanted' OR (?2 AND end_us IS NULL))");
    query.bind(1, camera.text());
    query.bind(2, each_ends_with_one ? 1 : 0);
    if (query.executeStep() && !query.isColumnNull(0)) from = rows::wall(query.getColumn(0).getInt64());
    return base::ok();
  });
  if (!done) return done.error();
  return from;
}

Result<std::vector<JobFilm>> FilmStore::all() const {
  return films_where(catalog_, "ORDER BY job", [](SQLite::Statement&) {});
}

}  // namespace rookery::archive
