// JobRun: one job under way: stills in; steps, events, an end and a wish to pause out.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <vector>

#include "archive/event_store.h"
#include "archive/job.h"
#include "base/time.h"
#include "jpeg/luma_grid.h"
#include "vision/job_watch.h"

namespace rookery::station {

// strand-bound. Pure but for its memory: times, stills and ids are given.
class JobRun {
 public:
  // Nothing has moved for so long: a job that nobody ended is over. And no job is longer than this, by time
  // that was seen to pass: each time that the station was off counts for a day at most.
  static constexpr std::chrono::hours kForgotten{24};
  static constexpr std::chrono::hours kLongest{24 * 31};

  // good: of earlier jobs here that a person said were good. Errors: those of vision::JobWatch::make.
  static base::Result<JobRun> make(archive::Job job, const archive::JobSettings& settings,
                                   std::vector<vision::JobFacts> good,
                                   std::function<std::int64_t()> next_event_id);

  const archive::Job& job() const { return job_; }
  const archive::JobSettings& settings() const { return settings_; }

  // What a person changed meanwhile. What the watch has learned stays.
  void set(const archive::Job& job, const archive::JobSettings& settings);
  // What another run of the same job saved. Errors: malformed, those of vision::JobWatch::restore; nothing
  // has changed then.
  base::Result<void> restore(std::span<const std::byte> saved);
  std::vector<std::byte> save() const;
  // After a restart: what stood by the steps that were stored. Its events have ended, and are not told again;
  // a pause that was not yet asked for is, after a hold that begins now, in the name of a new event.
  // What the watch does not know of is over with the next still.
  void recall(const std::vector<archive::JobStep>& steps, base::MonoTime now);

  // The end of a job as the watch, or the clock, sees it.
  struct End {
    archive::JobEnding ending = archive::JobEnding::ended;
    archive::JobVoice voice = archive::JobVoice::watch;
    std::string note;
  };
  // What is to be said to the machine's software, and with what evidence.
  struct Pause {
    vision::JobSign sign = vision::JobSign::still;
    archive::Event event;
  };
  struct Outcome {
    std::vector<archive::JobStep> steps;
    std::vector<archive::Event> events;  // new ones, and those that changed
    std::optional<Pause> pause;
    std::optional<End> end;
  };
  struct Now {
    base::WallTime wall;
    base::MonoTime mono;
  };
  // A still is due: the camera's next picture is one.
  bool is_due(base::MonoTime now) const { return !next_still_ || now >= *next_still_; }
  // grid: of a new still that came at `now`.
  Outcome look(const jpeg::LumaGrid& grid, const Now& now);
  // Time passes, also while the camera is away.
  Outcome pass(const Now& now);
  // The job is over, whoever said so: events under way end with it.
  std::vector<archive::Event> finish(base::WallTime at);

  vision::JobNow now() const { return watch_.now(); }
  vision::JobFacts facts() const { return watch_.facts(); }
  // What is so at this moment, the worst first.
  std::vector<vision::JobSign> standing() const;
  std::optional<base::WallTime> last_still() const { return last_still_; }
  const vision::JobWatch& watch() const& { return watch_; }

 private:
  JobRun(archive::Job job, const archive::JobSettings& settings, std::vector<vision::JobFacts> good,
         vision::JobWatch watch, std::function<std::int64_t()> next_event_id);
  static vision::JobWatchOptions options_of(const archive::Job& job, const archive::JobSettings& settings,
                                            const std::vector<vision::JobFacts>& good);
  double seconds_at(const Now& now);
  void take(const vision::JobReport& report, const Now& now, Outcome& outcome);
  void hold(vision::JobSign sign, bool sure, base::MonoTime now);
  void drop_unknown(const Now& now, Outcome& outcome);
  void judge_end(const Now& now, Outcome& outcome) const;
  bool wants_pause(vision::JobSign sign) const;

  // One sign that stands.
  struct Standing {
    archive::Event event;
    base::MonoTime since;
    bool told = false;                    // the event goes to the log
    std::optional<base::MonoTime> ask{};  // when the second look is due
  };

  archive::Job job_;
  archive::JobSettings settings_;
  std::vector<vision::JobFacts> good_;
  vision::JobWatch watch_;
  std::function<std::int64_t()> next_event_id_;
  std::map<vision::JobSign, Standing> standing_;
  std::optional<base::MonoTime> next_still_;
  std::optional<base::WallTime> last_still_;
  // The watch's seconds go on steadily, whatever is done to the clock, and whether stills come or not.
  std::optional<base::MonoTime> last_mono_;
  double at_s_ = 0;
};

}  // namespace rookery::station
