#include "archive/retention_jobs.h"

#include <algorithm>

#include <SQLiteCpp/SQLiteCpp.h>

#include "archive/catalog_value.h"
#include "archive/film_store.h"
#include "archive/job_rows.h"
#include "base/bytes.h"
#include "base/log.h"

namespace rookery::archive {
namespace {

using base::Result;

constexpr std::size_t kBatch = 64;
// Of the disk, for all films together, where nobody set how much.
constexpr std::uint64_t kFilmsShare = 10;

// By number, not by time: of a clock that was wrong for a while no job looks the oldest.
Result<std::vector<std::int64_t>> jobs_beyond(const Catalog& catalog, std::size_t most_each) {
  using Ids = std::vector<std::int64_t>;
  return reading<Ids>(catalog, [&](SQLite::Database& db) -> Result<Ids> {
    SQLite::Statement query(
        db,
        "SELECT id FROM (SELECT id, row_number() OVER (PARTITION BY recorded ORDER BY id DESC) AS nth"
        " FROM job WHERE end_us IS NOT NULL AND coalesce(good, 0) = 0) WHERE nth > ?1 ORDER BY id LIMIT ?2");
    query.bind(1, static_cast<std::int64_t>(most_each));
    query.bind(2, static_cast<std::int64_t>(kBatch));
    Ids ids;
    while (query.executeStep()) ids.push_back(query.getColumn(0).getInt64());
    return ids;
  });
}

// Looked at once more inside the transaction: a person may have judged it good meanwhile. Whether it went.
Result<bool> forget_job(Catalog& catalog, Disk& disk, std::int64_t id) {
  return writing<bool>(catalog, [&](SQLite::Database& db) -> Result<bool> {
    auto job = job_rows::find_job(db, id);
    if (!job) return false;
    if (job->under_way() || job->good == true) return false;
    if (auto done = job_rows::forget(db, disk, catalog.home(), id); !done) return done.error();
    return true;
  });
}

Result<void> bound_jobs(Catalog& catalog, Disk& disk, std::size_t most_each) {
  auto ids = jobs_beyond(catalog, most_each);
  if (!ids) return ids.error();
  for (const std::int64_t id : *ids) {
    const auto gone = forget_job(catalog, disk, id);
    if (!gone) base::log_error("retention", "job {} stays: {}", id, gone.error().text());
    if (gone && *gone)
      base::log_info("retention", "forgot job {}: its camera has {} newer ones", id, most_each);
  }
  return base::ok();
}

// What is being made anew is neither counted nor taken: its file may be replaced at any moment.
constexpr const char* kMayGo = "made_us IS NOT NULL AND state <> 'wanted' AND coalesce(good, 0) = 0";

struct OldFilm {
  std::int64_t job = 0;
  std::uint64_t bytes = 0;
};

// The oldest first. By turn, which grows with each wish, not by time: see jobs_beyond.
Result<std::vector<OldFilm>> films_beyond(const Catalog& catalog, std::uint64_t most_bytes) {
  using Films = std::vector<OldFilm>;
  return reading<Films>(catalog, [&](SQLite::Database& db) -> Result<Films> {
    SQLite::Statement query(db, fmt::format("SELECT job, bytes FROM film JOIN job ON job.id = film.job"
                                            " WHERE {} ORDER BY turn DESC, job DESC",
                                            kMayGo));
    Films beyond;
    std::uint64_t sum = 0;
    while (query.executeStep()) {
      const OldFilm film{query.getColumn(0).getInt64(), static_cast<std::uint64_t>(std::max<std::int64_t>(
                                                            query.getColumn(1).getInt64(), 0))};
      sum += std::min(film.bytes, UINT64_MAX - sum);
      if (sum > most_bytes) beyond.push_back(film);
    }
    std::ranges::reverse(beyond);
    beyond.resize(std::min(beyond.size(), kBatch));
    return beyond;
  });
}

// The file first, and looked at once more: as with jobs. Whether it went.
Result<bool> remove_film(Catalog& catalog, Disk& disk, std::int64_t job) {
  return writing<bool>(catalog, [&](SQLite::Database& db) -> Result<bool> {
    SQLite::Statement query(
        db, fmt::format("SELECT 1 FROM film JOIN job ON job.id = film.job WHERE job = ? AND {}", kMayGo));
    query.bind(1, job);
    if (!query.executeStep()) return false;
    if (auto removed = remove_film_file(disk, catalog.home(), job); !removed) return removed.error();
    SQLite::Statement remove(db, "DELETE FROM film WHERE job = ?");
    remove.bind(1, job);
    remove.exec();
    return true;
  });
}

Result<void> bound_films(Catalog& catalog, Disk& disk, std::uint64_t most_bytes) {
  auto films = films_beyond(catalog, most_bytes);
  if (!films) return films.error();
  for (const OldFilm& film : *films) {
    const auto gone = remove_film(catalog, disk, film.job);
    if (!gone) base::log_error("retention", "the film of job {} stays: {}", film.job, gone.error().text());
    if (gone && *gone)
      base::log_info("retention", "removed the film of job {} ({:.1f} MB): all films may take {} MB",
                     film.job, base::megabytes(film.bytes), most_bytes / 1'000'000);
  }
  return base::ok();
}

}  // namespace

Result<void> keep_to_bounds(Catalog& catalog, Disk& disk, const JobBounds& bounds) {
  if (auto done = bound_jobs(catalog, disk, bounds.most_each); !done) return done;
  if (bounds.films_bytes) return bound_films(catalog, disk, *bounds.films_bytes);
  const auto space = disk.space(catalog.home());
  return space ? bound_films(catalog, disk, space->total_bytes / kFilmsShare) : space.error();
}

}  // namespace rookery::archive
