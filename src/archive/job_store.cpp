#include "archive/job_store.h"

#include <SQLiteCpp/SQLiteCpp.h>

#include "archive/catalog_value.h"
#include "archive/disk.h"
#include "archive/film_store.h"
#include "archive/job_rows.h"
#include "archive/person_name.h"
#include "archive/rows.h"

namespace rookery::archive {
namespace {

using base::Error;
using base::ErrorCode;
using base::Result;
using job_rows::find_job;
using job_rows::first_job;
using job_rows::jobs_where;

constexpr int kJudgedJobs = 20;

Error has_one(const Job& job) {
  return {ErrorCode::already_exists, job.camera.text(),
          fmt::format("job {} has been under way since {}", job.id, base::to_rfc3339(job.start)),
          "End it first: a camera films one job at a time."};
}

bool put_step(SQLite::Database& db, const JobStep& step) {
  return job_rows::put_step(db, step, JobStore::kMostSteps, JobStore::kMostNote);
}

JobStep ending_step(std::int64_t job, base::WallTime at, const JobEnd& how) {
  JobStep step;
  step.job = job;
  step.at = at;
  step.voice = how.voice;
  step.what = name_of(how.ending);
  step.note = how.note;
  return step;
}

constexpr const char* kUnderWayOf = "WHERE camera = ? AND end_us IS NULL";

// Sets columns of one job and returns it as it is then.
template <class Bind>
Result<Job> change(Catalog& catalog, std::int64_t id, const std::string& set, Bind&& bind) {
  return writing<Job>(catalog, [&](SQLite::Database& db) -> Result<Job> {
    SQLite::Statement update(db, "UPDATE job SET " + set + " WHERE id = ?1");
    update.bind(1, id);
    bind(update);
    update.exec();
    return find_job(db, id);
  });
}

Result<Job> start_in(SQLite::Database& db, const Job& job, std::string note) {
  if (!job_rows::camera_row(db, job.camera)) return job_rows::no_such_camera(job.camera);
  auto other = first_job(db, kUnderWayOf, job.camera);
  if (!other) return other.error();
  if (*other) return has_one(**other);
  SQLite::Statement insert(
      db, "INSERT INTO job(recorded, label, began_by, start_us, expected_s) VALUES(?, ?, ?, ?, ?)");
  insert.bind(1, rows::make_recorded(db, job.camera));
  insert.bind(2, job.label);
  insert.bind(3, std::string(name_of(job.began)));
  insert.bind(4, rows::micros(job.start));
  if (job.expected) insert.bind(5, static_cast<std::int64_t>(job.expected->count()));
  insert.exec();
  const std::int64_t id = db.getLastInsertRowid();
  JobStep step;
  step.job = id;
  step.at = job.start;
  step.voice = job.began;
  step.what = "started";
  step.note = std::move(note);
  put_step(db, step);
  return find_job(db, id);
}

Result<Job> end_in(SQLite::Database& db, std::int64_t id, const JobEnd& how) {
  auto job = find_job(db, id);
  if (!job) return job;
  if (!job->under_way()) {
    return Error(ErrorCode::already_exists, "job",
                 fmt::format("job {} ended at {}", id, base::to_rfc3339(*job->end)), "Nothing was changed.");
  }
  // The clock may have been set back meanwhile.
  const base::WallTime at = std::max(how.at, job->start);
  SQLite::Statement update(db, "UPDATE job SET end_us = ?, ending = ? WHERE id = ?");
  update.bind(1, rows::micros(at));
  update.bind(2, std::string(name_of(how.ending)));
  update.bind(3, id);
  update.exec();
  put_step(db, ending_step(id, at, how));
  db.exec(fmt::format("DELETE FROM job_state WHERE job = {}", id));
  if (const auto film = job_rows::settings_of(db, job->camera).film)
    FilmStore::want_in(db, id, static_cast<double>(film->count()));
  return find_job(db, id);
}

}  // namespace

Result<Job> JobStore::start(const Job& job, std::string note) {
  if (auto good = check_label("job's label", job.label, 0); !good) return good.error();
  return writing<Job>(catalog_, [&](SQLite::Database& db) { return start_in(db, job, std::move(note)); });
}

Result<Job> JobStore::end(std::int64_t id, const JobEnd& how) {
  return writing<Job>(catalog_, [&](SQLite::Database& db) { return end_in(db, id, how); });
}

Result<Job> JobStore::replace(std::int64_t id, const JobEnd& how, const Job& job, std::string note) {
  if (auto good = check_label("job's label", job.label, 0); !good) return good.error();
  return writing<Job>(catalog_, [&](SQLite::Database& db) -> Result<Job> {
    if (auto ended = end_in(db, id, how); !ended && ended.error().code != ErrorCode::already_exists)
      return ended;
    return start_in(db, job, std::move(note));
  });
}

Result<void> JobStore::end_of_removed(const JobEnd& how) {
  return catalog_.write([&](SQLite::Database& db) -> Result<void> {
    auto jobs = jobs_where(db, "WHERE end_us IS NULL AND camera NOT IN (SELECT name FROM camera)",
                           [](SQLite::Statement&) {});
    if (!jobs) return jobs.error();
    for (const Job& job : *jobs) {
      if (auto ended = end_in(db, job.id, how); !ended) return ended.error();
    }
    return base::ok();
  });
}

Result<Job> JobStore::correct_ending(std::int64_t id, const JobEnd& how) {
  return writing<Job>(catalog_, [&](SQLite::Database& db) -> Result<Job> {
    auto job = find_job(db, id);
    if (!job) return job;
    if (job->under_way())
      return Error(ErrorCode::busy, "job", fmt::format("job {} is under way", id), "End it first.");
    SQLite::Statement update(db, "UPDATE job SET ending = ? WHERE id = ?");
    update.bind(1, std::string(name_of(how.ending)));
    update.bind(2, id);
    update.exec();
    put_step(db, ending_step(id, how.at, how));
    return find_job(db, id);
  });
}

Result<bool> JobStore::add(const JobStep& step) {
  return writing<bool>(catalog_, [&](SQLite::Database& db) -> Result<bool> {
    if (auto job = find_job(db, step.job); !job) return job.error();
    return put_step(db, step);
  });
}

void JobStore::add_later(const JobStep& step) {
  catalog_.write_later([step](SQLite::Database& db) { put_step(db, step); });
}

Result<Job> JobStore::set_label(std::int64_t id, const std::string& label) {
  if (auto good = check_label("job's label", label, 0); !good) return good.error();
  return change(catalog_, id, "label = ?2", [&](SQLite::Statement& update) { update.bind(2, label); });
}

Result<Job> JobStore::judge(std::int64_t id, std::optional<bool> good) {
  return change(catalog_, id, "good = ?2", [&](SQLite::Statement& update) {
    if (good) update.bind(2, *good ? 1 : 0);
  });
}

Result<Job> JobStore::set_expected(std::int64_t id, std::optional<std::chrono::seconds> expected) {
  return change(catalog_, id, "expected_s = ?2", [&](SQLite::Statement& update) {
    if (expected) update.bind(2, static_cast<std::int64_t>(expected->count()));
  });
}

Result<void> JobStore::remove(std::int64_t id) {
  return catalog_.write([&](SQLite::Database& db) -> Result<void> {
    auto job = find_job(db, id);
    if (!job) return job.error();
    if (job->under_way())
      return Error(ErrorCode::busy, "job", fmt::format("job {} is under way", id), "End it first.");
    return job_rows::forget(db, real_disk(), catalog_.home(), id);
  });
}

Result<Job> JobStore::find(std::int64_t id) const {
  return reading<Job>(catalog_, [id](SQLite::Database& db) { return find_job(db, id); });
}

Result<JobPage> JobStore::page(const JobQuery& query) const {
  return reading<JobPage>(catalog_, [&](SQLite::Database& db) -> Result<JobPage> {
    std::string where = "WHERE (start_us, job.id) < (?1, ?2)";
    if (query.cameras) {
      // Names of cameras are of letters, digits and dashes.
      where += " AND camera IN (";
      for (std::size_t i = 0; i < query.cameras->size(); ++i)
        where += fmt::format("{}'{}'", i > 0 ? "," : "", (*query.cameras)[i].text());
      where += ")";
    }
    if (query.under_way) where += *query.under_way ? " AND end_us IS NULL" : " AND end_us IS NOT NULL";
    where += " ORDER BY start_us DESC, job.id DESC LIMIT ?3";
    const EventCursor before = query.before.value_or(EventCursor{base::WallTime::max(), INT64_MAX});
    auto jobs = jobs_where(db, where, [&](SQLite::Statement& bound) {
      bound.bind(1, rows::micros(before.start));
      bound.bind(2, before.id);
      bound.bind(3, static_cast<std::int64_t>(query.limit + 1));
    });
    if (!jobs) return jobs.error();
    JobPage page;
    page.jobs = std::move(*jobs);
    if (page.jobs.size() > query.limit) {
      page.jobs.erase(page.jobs.begin() + static_cast<std::ptrdiff_t>(query.limit), page.jobs.end());
      page.next = EventCursor{page.jobs.back().start, page.jobs.back().id};
    }
    return page;
  });
}

Result<std::vector<Job>> JobStore::under_way() const {
  return reading<std::vector<Job>>(catalog_, [](SQLite::Database& db) {
    return jobs_where(db, "WHERE end_us IS NULL ORDER BY job.id", [](SQLite::Statement&) {});
  });
}

Result<std::optional<Job>> JobStore::under_way(const base::CameraName& camera) const {
  return reading<std::optional<Job>>(
      catalog_, [&](SQLite::Database& db) { return first_job(db, kUnderWayOf, camera); });
}

Result<std::optional<Job>> JobStore::last_of(const base::CameraName& camera, base::WallTime at) const {
  return reading<std::optional<Job>>(catalog_, [&](SQLite::Database& db) {
    return first_job(db,
                     fmt::format("WHERE camera = ? AND start_us <= {} ORDER BY start_us DESC, job.id DESC "
                                 "LIMIT 1",
                                 rows::micros(at)),
                     camera);
  });
}

Result<std::vector<JobStep>> JobStore::steps(std::int64_t job, std::int64_t after) const {
  return reading<std::vector<JobStep>>(catalog_, [&](SQLite::Database& db) -> Result<std::vector<JobStep>> {
    return job_rows::steps_where(db, "WHERE job = ? AND id > ? ORDER BY id", [&](SQLite::Statement& query) {
      query.bind(1, job);
      query.bind(2, after);
    });
  });
}

Result<std::vector<vision::JobFacts>> JobStore::facts_of_good(const base::CameraName& camera) const {
  return reading<std::vector<vision::JobFacts>>(
      catalog_, [&](SQLite::Database& db) -> Result<std::vector<vision::JobFacts>> {
        auto jobs = jobs_where(
            db, "WHERE camera = ? AND good = 1 AND end_us IS NOT NULL ORDER BY start_us DESC LIMIT ?",
            [&](SQLite::Statement& query) {
              query.bind(1, camera.text());
              query.bind(2, kJudgedJobs);
            });
        if (!jobs) return jobs.error();
        std::vector<vision::JobFacts> facts;
        for (const Job& job : *jobs) facts.push_back(job.facts);
        return facts;
      });
}

void JobStore::put_state_later(std::int64_t job, std::vector<std::byte> state, const vision::JobFacts& facts,
                               base::WallTime at) {
  catalog_.write_later(fmt::format("job state {}", job), [job, state = std::move(state), facts,
                                                          at](SQLite::Database& db) {
    SQLite::Statement upsert(
        db,
        "INSERT INTO job_state(job, saved_us, state) SELECT ?1, ?2, ?3 WHERE EXISTS(SELECT 1 FROM job WHERE "
        "id = ?1 AND end_us IS NULL) ON CONFLICT(job) DO UPDATE SET saved_us = excluded.saved_us, state = "
        "excluded.state");
    upsert.bind(1, job);
    upsert.bind(2, rows::micros(at));
    upsert.bindNoCopy(3, state.data(), static_cast<int>(state.size()));
    upsert.exec();
    SQLite::Statement update(
        db,
        "UPDATE job SET lasted_s = ?, longest_quiet_s = ?, moving_share = ?, grown_share = ? WHERE id = ?");
    update.bind(1, facts.lasted_s);
    update.bind(2, facts.longest_quiet_s);
    update.bind(3, facts.moving_share);
    update.bind(4, facts.grown_share);
    update.bind(5, job);
    update.exec();
  });
}

Result<std::optional<JobStore::State>> JobStore::state(std::int64_t job) const {
  return reading<std::optional<State>>(catalog_, [&](SQLite::Database& db) -> Result<std::optional<State>> {
    SQLite::Statement query(db, "SELECT saved_us, state FROM job_state WHERE job = ?");
    query.bind(1, job);
    if (!query.executeStep()) return std::optional<State>{};
    const SQLite::Column state = query.getColumn(1);
    const auto* bytes = static_cast<const std::byte*>(state.getBlob());
    return std::optional<State>(State{rows::wall(query.getColumn(0).getInt64()),
                                      std::vector<std::byte>(bytes, bytes + state.getBytes())});
  });
}

}  // namespace rookery::archive
