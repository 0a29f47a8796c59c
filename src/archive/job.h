// Job: one run of a process that is filmed, its steps, and how a camera's jobs go.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include <boost/json/object.hpp>

#include "base/name.h"
#include "base/result.h"
#include "base/time.h"
#include "vision/job_watch.h"

namespace rookery::archive {

// Who said so: of a job's beginning, and of each of its steps.
enum class JobVoice : std::uint8_t {
  hand,      // a person, on the page or the command line
  schedule,  // the camera's own hours
  hook,      // the machine's software, by POST /api/v1/hooks/NAME
  watch,     // the station, from the pictures
};
// "hand", "schedule", "hook", "watch".
std::string_view name_of(JobVoice voice);
JobVoice job_voice_of(std::string_view word);  // hand for any other word

enum class JobEnding : std::uint8_t {
  finished,  // somebody or the watch said that the work is done
  failed,    // somebody said that it failed
  ended,     // over, and nobody said how it went
};
// "finished", "failed", "ended".
std::string_view name_of(JobEnding ending);
std::optional<JobEnding> job_ending_of(std::string_view word);

// Times are wall clock.
struct Job {
  std::int64_t id = 0;
  base::CameraName camera;
  std::string label;  // for people; as a token's label (person_name.h), may be empty
  JobVoice began = JobVoice::hand;
  base::WallTime start;
  std::optional<base::WallTime> end{};  // none: under way
  std::optional<JobEnding> ending{};
  bool ended_by_watch = false;                     // told by its steps: nobody said that it is over
  std::optional<std::chrono::seconds> expected{};  // how long it takes
  std::optional<bool> good{};                      // a person's judgement, afterwards
  vision::JobFacts facts{};                        // as far as it was watched

  explicit Job(base::CameraName camera_) : camera(std::move(camera_)) {}
  bool under_way() const { return !end.has_value(); }
};

// Something that happened in a job. `what` is "started", "step", "ended", "finished", "failed",
// "pause-asked", "pause-sent", "pause-lost", or the name of a vision::JobSign.
struct JobStep {
  std::int64_t id = 0;
  std::int64_t job = 0;
  base::WallTime at;
  JobVoice voice = JobVoice::hand;
  std::string what;
  std::string note;  // free text that came with it; fit to be shown
  // Of a sign of the watch.
  bool over = false;  // it is no longer so
  double strength = 0;
  bool sure = true;
  std::optional<base::WallTime> before{};  // a picture from before it was so
  vision::PictureShare where{};
};

// One span a week, or every day, in which a job is to run: it starts then and ends when `length` is over.
struct JobHours {
  std::uint8_t days = 0x7f;  // bit 0 Monday … bit 6 Sunday
  int from_min = 0;          // local time, minutes since midnight, 0 to 1439
  std::chrono::minutes length{60};
  bool operator==(const JobHours&) const = default;
};

// When the machine's software is asked to pause: only by what a person switched on.
struct JobStop {
  std::int64_t receiver = 0;          // of notices; 0: nobody is asked
  std::set<vision::JobSign> signs{};  // of still, loose, covered, knocked
  std::chrono::seconds hold{60};      // so long it must stay so, and be so at a second look; 10 to 3600
  bool operator==(const JobStop&) const = default;
};

// How jobs of one camera go. The defaults ask nothing of anybody: jobs are started by hand.
struct JobSettings {
  bool by_movement = false;  // a job begins when the machine does, and ends when it has finished
  std::chrono::milliseconds still_every{5'000};    // 1 s to 10 min
  std::chrono::seconds still_after{600};           // nothing moves for so long: told; 1 min to 24 h
  std::optional<std::chrono::seconds> expected{};  // of every job that does not say it; to 31 days
  std::chrono::seconds end_after{600};             // at rest: the watch ends the job; 1 min to 24 h
  std::optional<vision::PictureShare> bed{};       // where the machine works, drawn by a person
  std::set<vision::JobSign> tell = every_sign();   // which make events, and so notices
  std::vector<JobHours> hours{};                   // at most 50
  std::chrono::hours keep_stills{24 * 30};         // of jobs that nothing else recorded; 1 h to 10 years
  std::optional<std::chrono::seconds> film{30};  // length of the lapse that is made at the end; none: none is
  JobStop stop{};
  bool operator==(const JobSettings&) const = default;

  static std::set<vision::JobSign> every_sign();
};

// Whether a person may have a pause asked for by it.
bool is_stop_worthy(vision::JobSign sign);
// How long it must stay so before it does: of `loose` four minutes at most, as after five no look can confirm
// it.
std::chrono::seconds hold_of(const JobStop& stop, vision::JobSign sign);

// {"by_movement":false,"still_every_s":5,…}: in the API, and as it is stored. docs/api.md.
boost::json::object job_settings_json(const JobSettings& settings);
// Members that are missing stay as in `now`. Errors: invalid_value, with the member that is unknown, of the
// wrong type or outside its range; as check().
base::Result<JobSettings> change_job_settings(const JobSettings& now, const boost::json::object& change);
// Those that are stored. A member that cannot be read, as one of a later version, also one inside another, is
// passed over, which is said in the log once; where keep_stills cannot be read it is the longest there is:
// nothing goes for that.
JobSettings read_job_settings(const base::CameraName& camera, const std::string& text);
// `change` of what is stored (text; empty: nothing yet): the settings then, and the text to store. In that
// stays what `change` does not name and what this program does not know, also inside "bed", "stop" and the
// spans of "hours": a span that is as it was, or stands where it stood among as many. Errors: as
// change_job_settings.
struct StoredJobSettings {
  JobSettings settings;
  std::string text;
};
base::Result<StoredJobSettings> change_stored_job_settings(const base::CameraName& camera,
                                                           const std::string& text,
                                                           const boost::json::object& change);

// {"id":…,"camera":…,"label":…,…}.
boost::json::object job_json(const Job& job);
boost::json::object job_step_json(const JobStep& step);

// What a step is for people: "nothing moves though it should".
std::string_view words_for_step(std::string_view what);

}  // namespace rookery::archive
