#include "station/job_run.h"

#include <algorithm>
#include <bit>
#include <cstring>

#include "base/log.h"

namespace rookery::station {

using archive::JobStep;
using base::Result;
using std::chrono::duration;
using vision::JobReport;
using vision::JobSign;

namespace {

constexpr double kLongest_s = 3600.0 * 24 * 400;
constexpr double kMostOff_s = 3600.0 * 24;

base::WallTime::duration seconds_of(double s) {
  return std::chrono::duration_cast<base::WallTime::duration>(duration<double>(s));
}

}  // namespace

vision::JobWatchOptions JobRun::options_of(const archive::Job& job, const archive::JobSettings& settings,
                                           const std::vector<vision::JobFacts>& good) {
  vision::JobWatchOptions options;
  options.still_every_s = duration<double>(settings.still_every).count();
  options.still_after_s = duration<double>(settings.still_after).count();
  if (job.expected) options.expected_s = duration<double>(*job.expected).count();
  options.bed = settings.bed;
  options.good = good;
  return options;
}

Result<JobRun> JobRun::make(archive::Job job, const archive::JobSettings& settings,
                            std::vector<vision::JobFacts> good, std::function<std::int64_t()> next_event_id) {
  auto watch = vision::JobWatch::make(options_of(job, settings, good));
  if (!watch) return watch.error();
  return JobRun(std::move(job), settings, std::move(good), std::move(*watch), std::move(next_event_id));
}

JobRun::JobRun(archive::Job job, const archive::JobSettings& settings, std::vector<vision::JobFacts> good,
               vision::JobWatch watch, std::function<std::int64_t()> next_event_id)
    : job_(std::move(job)),
      settings_(settings),
      good_(std::move(good)),
      watch_(std::move(watch)),
      next_event_id_(std::move(next_event_id)) {}

void JobRun::set(const archive::Job& job, const archive::JobSettings& settings) {
  const bool watched_otherwise =
      job.expected != job_.expected || settings.still_every != settings_.still_every ||
      settings.still_after != settings_.still_after || settings.bed != settings_.bed;
  const bool other_bed = settings.bed != settings_.bed;
  job_ = job;
  settings_ = settings;
  if (!watched_otherwise) return;
  auto watch = vision::JobWatch::make(options_of(job_, settings_, good_));
  if (!watch) return base::log_warning(job.camera.text(), "{}", watch.error().text());
  // Of another bed other movement is usual: with what was learned of the old one it would be taken for none.
  if (other_bed) {
    base::log_info(job.camera.text(), "the job's watch begins anew: its bed is another");
  } else if (const auto restored = watch->restore(watch_.save()); !restored) {
    base::log_info(job.camera.text(), "the job's watch begins anew: {}", restored.error().text());
  }
  watch_ = std::move(*watch);
}

// The seconds so far, then the watch's own bytes.
std::vector<std::byte> JobRun::save() const {
  std::vector<std::byte> saved(sizeof(std::uint64_t));
  const auto bits = std::bit_cast<std::uint64_t>(at_s_);
  std::memcpy(saved.data(), &bits, sizeof bits);
  const std::vector<std::byte> learned = watch_.save();
  saved.insert(saved.end(), learned.begin(), learned.end());
  return saved;
}

Result<void> JobRun::restore(std::span<const std::byte> saved) {
  const auto malformed = [] {
    return base::Error(base::ErrorCode::malformed, "job state", "it is cut off, or its time is no time",
                       "The watch of this job begins anew.");
  };
  std::uint64_t bits = 0;
  if (saved.size() < sizeof bits) return malformed();
  std::memcpy(&bits, saved.data(), sizeof bits);
  const auto at_s = std::bit_cast<double>(bits);
  if (!(at_s >= 0 && at_s <= kLongest_s)) return malformed();
  if (auto restored = watch_.restore(saved.subspan(sizeof bits)); !restored) return restored;
  at_s_ = at_s;
  return base::ok();
}

void JobRun::recall(const std::vector<JobStep>& steps, base::MonoTime now) {
  for (const JobStep& step : steps) {
    if (step.what == "pause-asked") {
      for (auto& [sign, one] : standing_) {
        if (step.note == archive::words_for_step(vision::name_of(sign))) one.ask.reset();
      }
    }
    const auto sign = vision::job_sign_named(step.what);
    if (!sign || step.voice != archive::JobVoice::watch) continue;
    standing_.erase(*sign);
    if (step.over) continue;
    archive::Event event(job_.camera);
    event.cause = archive::EventCause::job;
    event.detail = step.what;
    event.job = job_.id;
    event.id = next_event_id_();
    event.start = step.before.value_or(step.at);
    event.end = event.best_at = step.at;
    event.under_way = true;
    event.peak = step.strength;
    event.region = step.where;
    standing_.emplace(*sign, Standing{event, now, false, {}});
    hold(*sign, step.sure, now);
  }
}

// By the steady clock; when a run begins by the other one, which may have been set since the job's start:
// that must not make a job of an hour a month old.
double JobRun::seconds_at(const Now& now) {
  const double since_start = duration<double>(now.wall - job_.start).count();
  if (last_mono_) {
    // A picture may be a little older than the last look at the clock.
    at_s_ = std::max(0.0, at_s_ + duration<double>(now.mono - *last_mono_).count());
  } else {
    // After a restart the clock may stand before what was seen.
    at_s_ = std::clamp(since_start, at_s_ > 0 ? at_s_ + 0.001 : 0.0, at_s_ + kMostOff_s);
  }
  last_mono_ = now.mono;
  return at_s_;
}

JobRun::Outcome JobRun::look(const jpeg::LumaGrid& grid, const Now& now) {
  Outcome outcome;
  next_still_ = now.mono + settings_.still_every;
  last_still_ = now.wall;
  for (const JobReport& report : watch_.add(grid, seconds_at(now))) take(report, now, outcome);
  drop_unknown(now, outcome);
  // The second look: a still that came after the hold and looks so itself, and a person who still wants it.
  for (auto& [sign, one] : standing_) {
    if (!one.ask || now.mono < *one.ask || outcome.pause || !watch_.looks_so(sign)) continue;
    one.ask.reset();
    if (!wants_pause(sign)) continue;
    outcome.pause = Pause{sign, one.event};
    JobStep step;
    step.job = job_.id;
    step.at = now.wall;
    step.voice = archive::JobVoice::watch;
    step.what = "pause-asked";
    step.note = std::string(archive::words_for_step(vision::name_of(sign)));
    outcome.steps.push_back(std::move(step));
  }
  judge_end(now, outcome);
  return outcome;
}

JobRun::Outcome JobRun::pass(const Now& now) {
  Outcome outcome;
  seconds_at(now);
  judge_end(now, outcome);
  return outcome;
}

void JobRun::take(const JobReport& report, const Now& now, Outcome& outcome) {
  const auto wall_of = [&](double at_s) { return now.wall - seconds_of(at_s_ - at_s); };
  JobStep step;
  step.job = job_.id;
  step.at = wall_of(report.at_s);
  step.voice = archive::JobVoice::watch;
  step.what = vision::name_of(report.sign);
  step.over = report.over;
  step.strength = report.strength;
  step.sure = report.sure;
  step.before = wall_of(report.before_s);
  step.where = report.where;
  outcome.steps.push_back(step);

  const auto known = standing_.find(report.sign);
  if (report.over) {
    if (known == standing_.end()) return;
    known->second.event.end = step.at;
    known->second.event.under_way = false;
    if (known->second.told) outcome.events.push_back(known->second.event);
    standing_.erase(known);
    return;
  }
  if (known != standing_.end()) {  // it is surer now
    known->second.event.peak = std::max(known->second.event.peak, report.strength);
    known->second.event.end = step.at;
    if (known->second.told) outcome.events.push_back(known->second.event);
    return hold(report.sign, report.sure, now.mono);
  }
  archive::Event event(job_.camera);
  event.id = next_event_id_();
  event.cause = archive::EventCause::job;
  event.detail = step.what;
  event.job = job_.id;
  event.start = *step.before;
  event.end = event.best_at = step.at;
  event.under_way = true;
  event.peak = std::clamp(report.strength, 0.0, 1.0);
  event.region = report.where;
  const bool told = settings_.tell.contains(report.sign);
  if (told) outcome.events.push_back(event);
  standing_.emplace(report.sign, Standing{event, now.mono, told, {}});
  hold(report.sign, report.sure, now.mono);
}

// A watch that was cut off before it was saved, or that began anew, never says that it is over.
void JobRun::drop_unknown(const Now& now, Outcome& outcome) {
  for (auto it = standing_.begin(); it != standing_.end();) {
    auto& [sign, one] = *it;
    if (watch_.stands(sign)) {
      ++it;
      continue;
    }
    JobStep step;
    step.job = job_.id;
    step.at = now.wall;
    step.voice = archive::JobVoice::watch;
    step.what = vision::name_of(sign);
    step.over = true;
    step.note = "what was seen of it was lost";
    outcome.steps.push_back(std::move(step));
    one.event.end = std::max(now.wall, one.event.start);
    one.event.under_way = false;
    if (one.told) outcome.events.push_back(one.event);
    it = standing_.erase(it);
  }
}

// By what a person has set at this moment.
bool JobRun::wants_pause(JobSign sign) const {
  return settings_.stop.receiver != 0 && archive::is_stop_worthy(sign) && settings_.stop.signs.contains(sign);
}

void JobRun::hold(JobSign sign, bool sure, base::MonoTime now) {
  Standing& one = standing_.at(sign);
  if (one.ask || !sure || !wants_pause(sign)) return;
  one.ask = now + archive::hold_of(settings_.stop, sign);
}

void JobRun::judge_end(const Now& now, Outcome& outcome) const {
  using archive::JobEnding;
  using archive::JobVoice;
  if (at_s_ > duration<double>(kLongest).count()) {
    outcome.end = End{JobEnding::ended, JobVoice::watch, "it was left open for a month"};
  } else if (job_.began == JobVoice::schedule) {
    // Its hours are the clock's; but where that is set back they are no longer for that.
    if (job_.expected &&
        (now.wall >= job_.start + *job_.expected || at_s_ >= duration<double>(*job_.expected).count()))
      outcome.end = End{JobEnding::ended, JobVoice::schedule, "its hours are over"};
  } else if (const auto done = standing_.find(JobSign::finished);
             done != standing_.end() && watch_.stands(JobSign::finished)) {
    if (now.mono - done->second.since >= settings_.end_after)
      outcome.end = End{JobEnding::finished, JobVoice::watch, ""};
  } else if (last_still_ && watch_.now().quiet_s > duration<double>(kForgotten).count()) {
    outcome.end = End{JobEnding::ended, JobVoice::watch, "nothing has moved for a day"};
  }
}

std::vector<archive::Event> JobRun::finish(base::WallTime at) {
  std::vector<archive::Event> ended;
  for (auto& [sign, one] : standing_) {
    if (!one.told) continue;
    one.event.end = std::max(at, one.event.start);
    one.event.under_way = false;
    ended.push_back(one.event);
  }
  standing_.clear();
  return ended;
}

std::vector<JobSign> JobRun::standing() const {
  static constexpr JobSign kWorstFirst[] = {JobSign::still,   JobSign::loose,   JobSign::covered,
                                            JobSign::knocked, JobSign::unsharp, JobSign::finished};
  std::vector<JobSign> signs;
  for (const JobSign sign : kWorstFirst)
    if (standing_.contains(sign)) signs.push_back(sign);
  return signs;
}

}  // namespace rookery::station
