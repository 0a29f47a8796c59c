#include "archive/job_rows.h"

#include <fmt/format.h>

#include "archive/film_store.h"
#include "archive/rows.h"
#include "base/printable.h"

namespace rookery::archive::job_rows {
namespace {

using base::Error;
using base::ErrorCode;
using base::Result;

constexpr const char* kJobs =
    "SELECT job.id, camera, label, began_by, start_us, end_us, ending, expected_s, good, "
    "lasted_s, "
    "longest_quiet_s, moving_share, grown_share, (SELECT voice = 'watch' FROM job_step "
    "WHERE job_step.job = job.id AND what = ending "
    "ORDER BY job_step.id DESC LIMIT 1) FROM job JOIN recorded ON recorded.id = "
    "job.recorded ";
constexpr const char* kSteps =
    "SELECT id, job, at_us, voice, what, note, is_over, strength, sure, before_us, x, y, w, h FROM job_step ";

Result<Job> job_of(SQLite::Statement& row) {
  auto name = base::CameraName::parse(row.getColumn(1).getString());
  if (!name) return name.error();
  Job job(std::move(*name));
  job.id = row.getColumn(0).getInt64();
  job.label = row.getColumn(2).getString();
  job.began = job_voice_of(row.getColumn(3).getString());
  job.start = rows::wall(row.getColumn(4).getInt64());
  if (!row.isColumnNull(5)) job.end = rows::wall(row.getColumn(5).getInt64());
  if (!row.isColumnNull(6)) job.ending = job_ending_of(row.getColumn(6).getString());
  if (!row.isColumnNull(7)) job.expected = std::chrono::seconds(row.getColumn(7).getInt64());
  if (!row.isColumnNull(8)) job.good = row.getColumn(8).getInt() != 0;
  job.facts = {row.getColumn(9).getDouble(), row.getColumn(10).getDouble(), row.getColumn(11).getDouble(),
               row.getColumn(12).getDouble()};
  job.ended_by_watch = !row.isColumnNull(13) && row.getColumn(13).getInt() != 0;
  return job;
}

JobStep step_of(SQLite::Statement& row) {
  JobStep step;
  step.id = row.getColumn(0).getInt64();
  step.job = row.getColumn(1).getInt64();
  step.at = rows::wall(row.getColumn(2).getInt64());
  step.voice = job_voice_of(row.getColumn(3).getString());
  step.what = row.getColumn(4).getString();
  step.note = row.getColumn(5).getString();
  step.over = row.getColumn(6).getInt() != 0;
  step.strength = row.getColumn(7).getDouble();
  step.sure = row.getColumn(8).getInt() != 0;
  if (!row.isColumnNull(9)) step.before = rows::wall(row.getColumn(9).getInt64());
  step.where = {row.getColumn(10).getDouble(), row.getColumn(11).getDouble(), row.getColumn(12).getDouble(),
                row.getColumn(13).getDouble()};
  return step;
}

Error no_such_job(std::int64_t id) {
  return {ErrorCode::not_found, "job", fmt::format("there is no job {}", id),
          "`rookery job list` shows those there are."};
}

}  // namespace

bool put_step(SQLite::Database& db, const JobStep& step, std::size_t most, std::size_t most_note) {
  SQLite::Statement insert(
      db,
      "INSERT INTO job_step(job, at_us, voice, what, note, is_over, strength, sure, before_us, x, y, w, h)"
      " SELECT ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13 WHERE EXISTS(SELECT 1 FROM job WHERE "
      "id "
      "= ?1) AND (SELECT count(*) FROM job_step WHERE job = ?1 AND voice = ?3 AND what = ?4) < ?14");
  insert.bind(1, step.job);
  insert.bind(2, rows::micros(step.at));
  insert.bind(3, std::string(name_of(step.voice)));
  insert.bind(4, step.what);
  insert.bind(5, base::printable(step.note, most_note));
  insert.bind(6, step.over ? 1 : 0);
  insert.bind(7, step.strength);
  insert.bind(8, step.sure ? 1 : 0);
  if (step.before) insert.bind(9, rows::micros(*step.before));
  insert.bind(10, step.where.x);
  insert.bind(11, step.where.y);
  insert.bind(12, step.where.width);
  insert.bind(13, step.where.height);
  insert.bind(14, static_cast<std::int64_t>(most));
  return insert.exec() > 0;
}

Result<std::vector<Job>> jobs_where(SQLite::Database& db, const std::string& rest, const Bind& bind) {
  std::vector<Job> jobs;
  SQLite::Statement query(db, kJobs + rest);
  bind(query);
  while (query.executeStep()) {
    auto job = job_of(query);
    if (!job) return job.error();
    jobs.push_back(std::move(*job));
  }
  return jobs;
}

Result<Job> find_job(SQLite::Database& db, std::int64_t id) {
  auto found = jobs_where(db, "WHERE job.id = ?", [&](SQLite::Statement& query) { query.bind(1, id); });
  if (!found) return found.error();
  if (found->empty()) return no_such_job(id);
  return std::move(found->front());
}

Result<std::optional<Job>> first_job(SQLite::Database& db, const std::string& rest,
                                     const base::CameraName& camera) {
  auto found = jobs_where(db, rest, [&](SQLite::Statement& query) { query.bind(1, camera.text()); });
  if (!found) return found.error();
  if (found->empty()) return std::optional<Job>{};
  return std::optional<Job>(std::move(found->front()));
}

Result<void> forget(SQLite::Database& db, Disk& disk, const std::filesystem::path& home, std::int64_t id) {
  if (auto removed = remove_film_file(disk, home, id); !removed) return removed;
  db.exec(fmt::format("DELETE FROM job WHERE id = {}", id));
  return base::ok();
}

std::vector<JobStep> steps_where(SQLite::Database& db, const std::string& rest, const Bind& bind) {
  std::vector<JobStep> steps;
  SQLite::Statement query(db, kSteps + rest);
  bind(query);
  while (query.executeStep()) steps.push_back(step_of(query));
  return steps;
}

}  // namespace rookery::archive::job_rows
