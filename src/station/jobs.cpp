#include "station/jobs.h"

#include <algorithm>

#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>

#include "jpeg/luma_grid.h"
#include "station/job_hours.h"
#include "station/post_guarded.h"

namespace rookery::station {

using archive::Job;
using archive::JobSettings;
using archive::JobStep;
using archive::JobVoice;
using base::CameraName;
using base::Result;

namespace {

// How often a camera without a job is looked at for a machine that begins.
constexpr std::chrono::seconds kSenseEvery{3};
// An older picture is none of now: the camera is away.
constexpr std::chrono::minutes kStale{1};
// An end that the catalog could not take is tried again.
constexpr std::chrono::seconds kEndAgain{10};

thread_local jpeg::LumaGrid grid_of_thread;

}  // namespace

// One camera.
struct Jobs::Place {
  std::atomic<bool> looking{false};
  std::atomic<bool> wanted{false};  // there is something to look at: a job, or a machine that may begin
  std::mutex mutex;                 // guards the rest
  JobSettings settings;
  std::optional<JobRun> run;
  std::optional<vision::WorkSense> sense;
  std::optional<base::MonoTime> next_sense;
  std::uint64_t last_frame = 0;
  base::MonoTime saved{};
  bool ending = false;         // the catalog is being told
  base::MonoTime end_again{};  // … not before then, as it could not take it
  base::Repeated end_trouble;
  bool keeps = false;  // stills are being stored
};

Jobs::Jobs(const CameraSet& cameras, archive::Catalog& catalog, archive::EventStore& events,
           archive::Recorder& recorder, boost::asio::thread_pool& computing,
           boost::asio::thread_pool& reading, const base::Clock& clock, Options options)
    : cameras_(cameras),
      store_(catalog),
      events_(events),
      recorder_(recorder),
      computing_(computing),
      reading_(reading),
      clock_(clock),
      options_(std::move(options)) {}

Jobs::~Jobs() = default;

boost::asio::awaitable<void> Jobs::run() {
  boost::asio::steady_timer timer(co_await boost::asio::this_coro::executor);
  auto settle_due = std::chrono::steady_clock::now();
  for (;;) {
    const auto now = std::chrono::steady_clock::now();
    if (now >= settle_due && !settling_.exchange(true)) {
      settle_due = now + options_.settle;
      post_guarded(reading_, "jobs", [this] {
        const Busy until_done(settling_);
        const auto settled = settle();
        if (settled) settle_trouble_.clear();
        if (!settled && settle_trouble_.is_news(settled.error().text(), clock_.mono()))
          base::log_warning("jobs", "{}", settled.error().text());
        save_all(false);
      });
    }
    for (const auto& [name, entry] : cameras_.all()) {
      PlacePtr place;
      {
        const std::lock_guard lock(mutex_);
        const auto found = places_.find(name);
        if (found != places_.end()) place = found->second;
      }
      if (place && place->wanted) look_at(name, entry, place);
    }
    timer.expires_after(options_.look);
    auto waiting = timer.async_wait(boost::asio::use_awaitable);
    co_await std::move(waiting);
  }
}

void Jobs::look_at(const CameraName& name, const EntryPtr& entry, const PlacePtr& place) {
  if (place->looking.exchange(true)) return;  // the last look is not done: the workers are busy
  post_guarded(computing_, "jobs", [this, name, entry, place] {
    const Busy until_done(place->looking);
    look(name, *entry, *place);
  });
}

void Jobs::look(const CameraName& name, Entry& entry, Place& place) {
  const camera::FramePtr frame = entry.pull.feed()->latest();
  const std::lock_guard lock(place.mutex);
  if (place.run && !place.ending) return look_at_job(name, entry, place, frame);
  if (!place.run && place.settings.by_movement && frame) sense(name, place, frame);
}

void Jobs::look_at_job(const CameraName& name, Entry& entry, Place& place, const camera::FramePtr& frame) {
  const JobRun::Now now{clock_.wall(), clock_.mono()};
  const camera::Settings settings = cameras_.settings_of(entry);
  const bool is_new = frame && frame->number != place.last_frame && now.mono - frame->arrived_mono < kStale;
  if (!is_new || !place.run->is_due(now.mono) || !jpeg::compute_luma_grid(frame->view(), grid_of_thread))
    return carry_out(name, place, place.run->pass(now), settings.title, frame);
  place.last_frame = frame->number;
  if (settings.record != camera::Record::always) {
    recorder_.record(name, frame, archive::Track::stills);
    place.keeps = true;
  }
  // By the picture's own times, so that the pictures that are shown are those that were judged.
  carry_out(name, place, place.run->look(grid_of_thread, {frame->arrived, frame->arrived_mono}),
            settings.title, frame);
}

void Jobs::carry_out(const CameraName& name, Place& place, const JobRun::Outcome& outcome,
                     const std::string& title, const camera::FramePtr& frame) {
  for (const archive::JobStep& step : outcome.steps) store_.add_later(step);
  for (const archive::Event& event : outcome.events) {
    events_.put_later(event);
    options_.tell(event, title, frame);
  }
  if (outcome.pause) {
    base::log_info(name.text(), "job {}: {} has stood for {} s and at a second look; a pause is asked for",
                   place.run->job().id, vision::name_of(outcome.pause->sign),
                   place.settings.stop.hold.count());
    ask_pause(place.settings.stop.receiver, outcome.pause->event, title, frame);
  }
  if (!outcome.end || clock_.mono() < place.end_again) return;
  place.ending = true;
  post_guarded(reading_, "jobs", [this, job = place.run->job(), how = *outcome.end] { end(job, how); });
}

void Jobs::ask_pause(std::int64_t receiver, const archive::Event& event, const std::string& title,
                     const camera::FramePtr& frame) {
  post_guarded(reading_, "jobs", [this, receiver, event, title, frame] {
    const auto asked = options_.ask_pause(receiver, event, title, frame);
    if (asked) return;
    base::log_error(event.camera.text(), "the pause was not asked for: {}", asked.error().text());
    note_pause({event.job.value_or(0), false, asked.error().text(), clock_.wall()});
  });
}

void Jobs::note_pause(const notices::PauseEnd& end) {
  JobStep step;
  step.job = end.job;
  step.at = end.at;
  step.voice = JobVoice::watch;
  step.what = end.arrived ? "pause-sent" : "pause-lost";
  step.note = end.answer;
  store_.add_later(step);
}

void Jobs::end(const Job& job, const JobRun::End& how) {
  const auto ended = store_.end(job.id, {clock_.wall(), how.ending, how.voice, how.note});
  if (!ended && ended.error().code != base::ErrorCode::already_exists) {
    const PlacePtr place = place_of(job.camera);
    const std::lock_guard lock(place->mutex);
    if (place->end_trouble.is_news(ended.error().text(), clock_.mono()))
      base::log_warning(job.camera.text(), "{}", ended.error().text());
    place->end_again = clock_.mono() + kEndAgain;
    place->ending = false;
    return;
  }
  base::log_info(job.camera.text(), "job {} is over: {}{}{}", job.id, archive::name_of(how.ending),
                 how.note.empty() ? "" : ", ", how.note);
  if (const auto settled = settle(); !settled) base::log_warning("jobs", "{}", settled.error().text());
}

void Jobs::sense(const CameraName& name, Place& place, const camera::FramePtr& frame) {
  const auto now = clock_.mono();
  if (frame->number == place.last_frame || (place.next_sense && now < *place.next_sense)) return;
  place.next_sense = now + kSenseEvery;
  place.last_frame = frame->number;
  if (!jpeg::compute_luma_grid(frame->view(), grid_of_thread)) return;
  if (!place.sense) place.sense.emplace();
  const double at_s = std::chrono::duration<double>(frame->arrived_mono.time_since_epoch()).count();
  const auto began_s = place.sense->add(grid_of_thread, at_s);
  if (!began_s) return;
  Job job(name);
  job.began = JobVoice::watch;
  job.start = frame->arrived - std::chrono::duration_cast<base::WallTime::duration>(
                                   std::chrono::duration<double>(std::max(0.0, at_s - *began_s)));
  job.expected = place.settings.expected;
  post_guarded(reading_, "jobs", [this, job] {
    const auto started = store_.start(job);
    if (!started) return base::log_warning(job.camera.text(), "{}", started.error().text());
    base::log_info(job.camera.text(), "the machine began to work: job {}", started->id);
    if (const auto settled = settle(); !settled) base::log_warning("jobs", "{}", settled.error().text());
  });
}

Jobs::PlacePtr Jobs::place_of(const CameraName& name) {
  const std::lock_guard lock(mutex_);
  PlacePtr& place = places_[name];
  if (!place) place = std::make_shared<Place>();
  return place;
}

Result<void> Jobs::settle() {
  const std::lock_guard one_at_a_time(settle_mutex_);
  auto all = store_.all_settings();
  if (!all) return all.error();
  auto under_way = store_.under_way();
  if (!under_way) return under_way.error();
  std::map<CameraName, JobSettings> settings;
  for (auto& [name, one] : *all) settings.emplace(name, std::move(one));
  std::map<CameraName, const Job*> jobs;
  for (const Job& job : *under_way) jobs.emplace(job.camera, &job);

  // One that is not among the station's may only just have come: the catalog knows.
  const auto is_here = [&](const Job& job) { return cameras_.find(job.camera) != nullptr; };
  if (!std::ranges::all_of(*under_way, is_here)) {
    const auto ended = store_.end_of_removed(
        {clock_.wall(), archive::JobEnding::ended, JobVoice::watch, "its camera was removed"});
    if (!ended) return ended.error();
  }
  forget_removed();
  for (const auto& [name, entry] : cameras_.all()) {
    const auto its = settings.find(name);
    const JobSettings one = its == settings.end() ? JobSettings{} : its->second;
    const auto job = jobs.find(name);
    if (job != jobs.end()) {
      if (auto taken = take_up(*job->second, one); !taken) return taken;
      continue;
    }
    const PlacePtr place = place_of(name);
    {
      const std::lock_guard lock(place->mutex);
      place->settings = one;
      place->wanted = one.by_movement;
      if (!one.by_movement) place->sense.reset();
      if (place->run) let_go(name, *place);
    }
    if (!one.hours.empty()) follow_hours(name, one);
  }
  return base::ok();
}

void Jobs::forget_removed() {
  std::map<CameraName, PlacePtr> gone;
  {
    const std::lock_guard lock(mutex_);
    for (auto it = places_.begin(); it != places_.end();) {
      if (cameras_.find(it->first)) {
        ++it;
      } else {
        gone.insert(places_.extract(it++));
      }
    }
  }
  for (const auto& [name, place] : gone) {
    const std::lock_guard lock(place->mutex);
    if (place->run) let_go(name, *place);
  }
}

Result<void> Jobs::take_up(const Job& job, const JobSettings& settings) {
  const PlacePtr place = place_of(job.camera);
  {
    const std::lock_guard lock(place->mutex);
    place->settings = settings;
    place->wanted = true;
    place->sense.reset();
    if (place->run && place->run->job().id != job.id) let_go(job.camera, *place);
    if (place->run) {
      place->run->set(job, settings);
      return base::ok();
    }
  }
  auto good = store_.facts_of_good(job.camera);
  if (!good) return good.error();
  auto run = JobRun::make(job, settings, std::move(*good), options_.next_event_id);
  if (!run) return run.error();
  auto saved = store_.state(job.id);
  if (!saved) return saved.error();
  if (*saved) {
    if (const auto restored = run->restore((*saved)->bytes); !restored)
      base::log_info(job.camera.text(), "{}", restored.error().text());
  }
  auto steps = store_.steps(job.id);
  if (!steps) return steps.error();
  run->recall(*steps, clock_.mono());
  const std::lock_guard lock(place->mutex);
  place->run = std::move(*run);
  place->saved = clock_.mono();
  place->ending = false;
  return base::ok();
}

// The job is over in the catalog.
void Jobs::let_go(const CameraName& name, Place& place) {
  const EntryPtr entry = cameras_.find(name);
  const std::string title = entry ? cameras_.settings_of(*entry).title : std::string();
  for (const archive::Event& event : place.run->finish(clock_.wall())) {
    events_.put_later(event);
    options_.tell(event, title, nullptr);
  }
  // What it was like goes with the job; its state is no longer wanted.
  store_.put_state_later(place.run->job().id, place.run->save(), place.run->facts(), clock_.wall());
  if (std::exchange(place.keeps, false)) recorder_.finish(name, archive::Track::stills);
  place.run.reset();
  place.ending = false;
  place.end_again = {};
  place.end_trouble.clear();
  options_.on_over();
}

void Jobs::follow_hours(const CameraName& name, const JobSettings& settings) {
  const base::WallTime now = clock_.wall();
  for (const archive::JobHours& hours : settings.hours) {
    const auto began = hours_began(hours, now);
    if (!began) continue;
    // One that was ended by hand is not begun again.
    auto last = store_.last_of(name, now);
    if (!last || (*last && (*last)->start >= *began)) continue;
    Job job(name);
    job.began = JobVoice::schedule;
    job.start = now;
    job.expected = std::chrono::duration_cast<std::chrono::seconds>(*began + hours.length - now);
    if (job.expected->count() <= 0) continue;
    if (auto started = store_.start(job); !started) {
      base::log_warning(name.text(), "{}", started.error().text());
    }
    return;
  }
}

void Jobs::save_all(bool now) {
  std::map<CameraName, PlacePtr> places;
  {
    const std::lock_guard lock(mutex_);
    places = places_;
  }
  const auto mono = clock_.mono();
  for (const auto& [name, place] : places) {
    const std::lock_guard lock(place->mutex);
    if (!place->run || (!now && mono - place->saved < options_.save)) continue;
    place->saved = mono;
    store_.put_state_later(place->run->job().id, place->run->save(), place->run->facts(), clock_.wall());
  }
}

void Jobs::stop() {
  save_all(true);
  std::map<CameraName, PlacePtr> places;
  {
    const std::lock_guard lock(mutex_);
    places.swap(places_);
  }
  for (const auto& [name, place] : places) {
    const std::lock_guard lock(place->mutex);
    if (std::exchange(place->keeps, false)) recorder_.finish(name, archive::Track::stills);
    place->run.reset();
  }
}

std::optional<JobView> Jobs::view(const CameraName& camera) const {
  PlacePtr place;
  {
    const std::lock_guard lock(mutex_);
    const auto found = places_.find(camera);
    if (found == places_.end()) return std::nullopt;
    place = found->second;
  }
  const std::lock_guard lock(place->mutex);
  if (!place->run) return std::nullopt;
  const JobRun& run = *place->run;
  return JobView{run.now(),           run.standing(),       run.last_still(),
                 run.watch().width(), run.watch().height(), run.watch().growth()};
}

}  // namespace rookery::station
