// Jobs, their steps and how a camera's jobs go, in the catalog.
#pragma once

#include <optional>
#include <vector>

#include "archive/catalog.h"
#include "archive/event_store.h"
#include "archive/job.h"

namespace rookery::archive {

struct JobQuery {
  std::optional<std::vector<base::CameraName>> cameras = {};
  std::optional<bool> under_way = {};
  std::optional<EventCursor> before = {};  // only those further down
  std::size_t limit = 50;                  // 1 to 500
};

// The newest first.
struct JobPage {
  std::vector<Job> jobs;
  std::optional<EventCursor> next;  // nothing: that was all
};

// How a job ended.
struct JobEnd {
  base::WallTime at;
  JobEnding ending = JobEnding::ended;
  JobVoice voice = JobVoice::hand;
  std::string note{};
};

// any-thread. Errors beside those named: those of Catalog::write.
class JobStore {
 public:
  static constexpr std::size_t kMostNote = 200;     // characters; longer ones are cut
  static constexpr std::size_t kMostSteps = 5'000;  // of one job, voice and kind; more are not stored

  explicit JobStore(Catalog& catalog) : catalog_(catalog) {}

  // Begins one, with its step "started"; id, end and ending are ignored. Errors: already_exists (the camera
  // has a job under way, which is named), invalid_value (label), not_found (no such camera).
  base::Result<Job> start(const Job& job, std::string note = {});
  // Ends it, with a step, and wants its film where the camera's settings say so. Errors: not_found;
  // already_exists when it is over.
  base::Result<Job> end(std::int64_t id, const JobEnd& how);
  // Ends `id`, unless it is over already, and starts `job`: both, or neither. Errors: those of start().
  base::Result<Job> replace(std::int64_t id, const JobEnd& how, const Job& job, std::string note = {});
  // Ends those under way whose camera is in the catalog no more.
  base::Result<void> end_of_removed(const JobEnd& how);
  // Somebody who knows says how a job that is over ended. Errors: not_found; busy (it is under way).
  base::Result<Job> correct_ending(std::int64_t id, const JobEnd& how);
  // Whether it is stored: not beyond kMostSteps. Errors: not_found.
  base::Result<bool> add(const JobStep& step);
  void add_later(const JobStep& step);
  // Errors: not_found, invalid_value (label).
  base::Result<Job> set_label(std::int64_t id, const std::string& label);
  base::Result<Job> judge(std::int64_t id, std::optional<bool> good);
  base::Result<Job> set_expected(std::int64_t id, std::optional<std::chrono::seconds> expected);
  // A job that is over, with its steps and its film. Its pictures stay as long as they do. Errors: not_found;
  // busy (it is under way); those of Disk::remove for the film's file, and nothing is changed then.
  base::Result<void> remove(std::int64_t id);

  base::Result<Job> find(std::int64_t id) const;  // not_found
  base::Result<JobPage> page(const JobQuery& query) const;
  base::Result<std::vector<Job>> under_way() const;
  base::Result<std::optional<Job>> under_way(const base::CameraName& camera) const;
  // Of those that began no later than `at`: a clock that ran ahead has left others.
  base::Result<std::optional<Job>> last_of(const base::CameraName& camera, base::WallTime at) const;
  // In their order; only those with an id above `after`. Steps are never changed, and ids grow with time and
  // are never given twice: those after the last that somebody knows are all that they do not know.
  base::Result<std::vector<JobStep>> steps(std::int64_t job, std::int64_t after = 0) const;
  // Of the camera's jobs that a person judged good, the last 20.
  base::Result<std::vector<vision::JobFacts>> facts_of_good(const base::CameraName& camera) const;

  // What the watch of a job has learned, to go on after a restart; and what the job is like so far.
  void put_state_later(std::int64_t job, std::vector<std::byte> state, const vision::JobFacts& facts,
                       base::WallTime at);
  struct State {
    base::WallTime saved;
    std::vector<std::byte> bytes;
  };
  base::Result<std::optional<State>> state(std::int64_t job) const;

  // The defaults for a camera for which none are stored. Errors: not_found (no such camera).
  base::Result<JobSettings> settings(const base::CameraName& camera) const;
  // Changes what is named, in one transaction: two at once change both. What else is stored stays, also what
  // this program does not know. Returns the settings then. Errors: not_found (no such camera); those of
  // change_job_settings, and nothing is changed then.
  base::Result<JobSettings> change_settings(const base::CameraName& camera,
                                            const boost::json::object& change);
  // The same for all of them.
  base::Result<void> set_settings(const base::CameraName& camera, const JobSettings& settings);
  // Of all cameras that have some. A person's own that cannot be read are the defaults, and said in the log.
  base::Result<std::vector<std::pair<base::CameraName, JobSettings>>> all_settings() const;

 private:
  Catalog& catalog_;
};

}  // namespace rookery::archive
