// Inner: how jobs and their steps stand in the catalog's tables.
#pragma once

#include <filesystem>
#include <functional>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include <SQLiteCpp/SQLiteCpp.h>

#include "archive/disk.h"
#include "archive/job.h"

namespace rookery::archive::job_rows {

using Bind = std::function<void(SQLite::Statement&)>;

// rest: from WHERE on. Errors: those of base::CameraName::parse.
base::Result<std::vector<Job>> jobs_where(SQLite::Database& db, const std::string& rest, const Bind& bind);
base::Result<Job> find_job(SQLite::Database& db, std::int64_t id);  // not_found
// rest has one place to bind: the camera's name.
base::Result<std::optional<Job>> first_job(SQLite::Database& db, const std::string& rest,
                                           const base::CameraName& camera);

std::vector<JobStep> steps_where(SQLite::Database& db, const std::string& rest, const Bind& bind);
// Whether it was put: not when the job is gone, or has `most` of the same voice and kind. So what software
// says of its layers crowds out neither an end nor what the watch sees.
bool put_step(SQLite::Database& db, const JobStep& step, std::size_t most, std::size_t most_note);

// Deletes a job with its steps and its film, the film's file first: what the catalog no longer knows would
// stay. Errors: those of Disk::remove for a file that there is; nothing is changed then.
base::Result<void> forget(SQLite::Database& db, Disk& disk, const std::filesystem::path& home,
                          std::int64_t id);

std::optional<std::int64_t> camera_row(SQLite::Database& db, const base::CameraName& camera);
base::Error no_such_camera(const base::CameraName& camera);
// As they are stored; "": none are, also of a camera that there is not.
std::string settings_text(SQLite::Database& db, const base::CameraName& camera);
JobSettings settings_of(SQLite::Database& db, const base::CameraName& camera);

}  // namespace rookery::archive::job_rows
