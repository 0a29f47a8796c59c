#include "station/station.h"

#include <random>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/strand.hpp>
#include <boost/asio/use_awaitable.hpp>

#include "archive/home_lock.h"
#include "archive/motion_state_store.h"
#include "archive/retention.h"
#include "archive/upkeep.h"
#include "base/log.h"
#include "net/supervise.h"
#include "notices/pause_receiver.h"
#include "station/camera_set.h"
#include "station/dropouts.h"
#include "station/finding.h"
#include "station/open_catalog.h"
#include "station/post_guarded.h"
#include "station/vitals_taking.h"
#include "station/watching.h"

namespace rookery::station {
namespace {

base::Error no_such_camera(const base::CameraName& name) {
  return base::Error(base::ErrorCode::not_found, "camera",
                     fmt::format("there is no camera \"{}\"", name.text()),
                     "`rookery camera list` shows those there are.");
}

}  // namespace

struct Station::Impl {
  boost::asio::io_context& io;
  StationOptions options;
  const base::Clock& clock;
  archive::HomeLock home_lock;  // let go last
  std::unique_ptr<archive::Catalog> catalog;
  archive::CameraStore camera_store;
  archive::PeopleStore people;
  archive::SegmentStore segments;
  archive::StripStore strips;
  archive::EventStore events;
  archive::MotionStateStore states;
  archive::VitalsStore vitals;
  archive::DropoutStore dropout_store;
  archive::JobStore job_store;
  std::atomic<std::int64_t> last_event{0};
  // Three pools, so that a disk that keeps people waiting keeps nobody else (station.h says who uses which).
  boost::asio::thread_pool computing{2};
  boost::asio::thread_pool asking{2};
  boost::asio::thread_pool reading{4};
  archive::Disk& disk;
  archive::Retention retention;
  archive::Recorder recorder;
  notices::Desk notices;
  std::shared_ptr<Dropouts> dropouts;  // pulls that are just ending may still hold it
  CameraSet cameras;
  Watching watching;
  VitalsTaking vitals_taking;
  Films films;
  Jobs jobs;
  Exports exports;
  Sizes sizes;
  Finding finding;
  base::WallTime started_at;
  std::vector<net::Supervised> tasks;
  std::atomic<bool> making_room{false};  // a round of retention is under way
  std::atomic<bool> taking_up{false};    // a look at what changed in the catalog is under way
  archive::MendPlan to_mend;             // what a full disk left over; touched in rounds of retention only

  Impl(boost::asio::io_context& io_, StationOptions options_, const base::Clock& clock_,
       std::unique_ptr<archive::Catalog> catalog_, archive::HomeLock home_lock_)
      : io(io_),
        options(std::move(options_)),
        clock(clock_),
        home_lock(std::move(home_lock_)),
        catalog(std::move(catalog_)),
        camera_store(*catalog),
        people(*catalog),
        segments(*catalog),
        strips(*catalog),
        events(*catalog),
        states(*catalog),
        vitals(*catalog),
        dropout_store(*catalog),
        job_store(*catalog),
        disk(options.recorder.disk != nullptr ? *options.recorder.disk : archive::real_disk()),
        retention(*catalog, clock, disk, options.jobs),
        recorder(*catalog, with(retention), clock),
        notices(*catalog, clock, of_notices()),
        dropouts(std::make_shared<Dropouts>(dropout_store, computing,
                                            [this] { return recorder.waiting_for_room().has_value(); })),
        cameras(io, *catalog, camera_store, recorder, clock, of_cameras()),
        watching(cameras, events, strips, states, computing, clock, options.ticks.look,
                 [this](const archive::Event& event, const std::string& title, camera::FramePtr still) {
                   notices.tell(event, title, std::move(still));
                 }),
        vitals_taking(cameras, vitals, reading, clock, options.ticks.vitals),
        films(*catalog, clock, retention, {.keep_free_bytes = options.recorder.keep_free_bytes}, disk),
        jobs(cameras, *catalog, events, recorder, computing, reading, clock, of_jobs()),
        exports(*catalog, clock, {options.exports_most_bytes, options.recorder.keep_free_bytes}, disk),
        sizes(computing),
        finding(io, *catalog, camera_store, cameras, reading, clock, options.home, options.finding),
        started_at(clock.wall()) {}

  archive::RecorderOptions with(archive::Retention& one_for_all) const {
    archive::RecorderOptions with_it = options.recorder;
    with_it.retention = &one_for_all;
    return with_it;
  }

  CameraSet::Options of_cameras() {
    return {
        .limits = options.pull,
        .let_go = options.ticks.let_go,
        .seed = options.seed != 0 ? options.seed : std::random_device{}(),
        .pre_roll_most_bytes = options.pre_roll_most_bytes,
        .next_event_id = [this] { return ++last_event; },
        .on_dropout = [dropouts = dropouts](const base::CameraName& name,
                                            const camera::DropoutSeen& seen) { dropouts->tell(name, seen); },
        .on_coming = [this](const base::CameraName& name, Entry& entry) { recall(name, entry); },
        .on_leaving = [this](const base::CameraName& name, Entry& entry) { watching.end(name, entry); }};
  }

  notices::Desk::Options of_notices() {
    notices::Desk::Options of = options.notices;
    of.on_pause_end = [this](const notices::PauseEnd& end) { jobs.note_pause(end); };
    return of;
  }

  Jobs::Options of_jobs() {
    Jobs::Options of;
    of.look = options.ticks.jobs;
    of.settle = options.ticks.settings;
    of.next_event_id = [this] { return ++last_event; };
    of.tell = [this](const archive::Event& event, const std::string& title, camera::FramePtr still) {
      notices.tell(event, title, std::move(still));
    };
    of.on_over = [this] { films.wake(); };
    of.ask_pause = [this](std::int64_t receiver, const archive::Event& event, const std::string& title,
                          camera::FramePtr still) {
      return notices.ask_pause(receiver, event, title, std::move(still));
    };
    return of;
  }

  // What the camera's detector had learned; without it, it learns anew.
  void recall(const base::CameraName& name, Entry& entry) {
    dropouts->recall(name, clock.wall());
    const auto state = states.find(name);
    if (!state) return base::log_warning(name.text(), "{}", state.error().text());
    if (!*state) return;
    if (const auto restored = entry.watch.restore(**state); !restored)
      base::log_info(name.text(), "{}", restored.error().text());
  }

  CameraView view_of(const Entry& entry) const {
    camera::Settings settings = cameras.settings_of(entry);
    const auto counters = recorder.counters(settings.name);
    CameraView view(std::move(settings), entry.pull.status(), counters);
    view.viewers = entry.pull.feed()->viewers();
    view.viewers_skipped = entry.pull.feed()->skipped();
    view.pre_roll = entry.recording.state();
    view.looked_at = entry.watch.looked_at();
    view.event = entry.watch.under_way();
    view.events_ended = entry.watch.ended();
    return view;
  }

  // Notices what another process (the command line) changed in the catalog.
  boost::asio::awaitable<void> watch_settings() {
    boost::asio::steady_timer timer(co_await boost::asio::this_coro::executor);
    for (;;) {
      timer.expires_after(options.ticks.settings);
      auto waiting = timer.async_wait(boost::asio::use_awaitable);
      co_await std::move(waiting);
      if (taking_up.exchange(true)) continue;  // the last look is not done: the disk is slow
      post_guarded(reading, "settings", [this] {
        const Busy until_done(taking_up);
        if (!cameras.is_behind()) return;
        if (const auto applied = cameras.apply(); !applied)
          base::log_warning("station", "{}", applied.error().text());
      });
    }
  }

  // What could not be mended at the start: the next start would no longer find the files without an entry,
  // since this one has recorded younger ones.
  void mend_the_rest() {
    if (to_mend.empty()) return;
    const std::size_t many = to_mend.open.size() + to_mend.strays.size();
    if (const auto mended = archive::mend(*catalog, to_mend); mended) {
      base::log_info("archive", "there is room again: the {} recordings that a crash left are mended", many);
    } else {
      base::log_warning("archive", "{}", mended.error().text());
    }
  }

  base::Result<void> take_up_events() {
    const auto last = events.last_id();
    if (!last) return last.error();
    last_event = *last;
    const auto ended = events.end_all();
    // A full disk: they look under way until a start with room.
    if (!ended && ended.error().code != base::ErrorCode::disk_full) return ended.error();
    return base::ok();
  }

  boost::asio::awaitable<void> watch_space() {
    boost::asio::steady_timer timer(co_await boost::asio::this_coro::executor);
    for (;;) {
      if (!making_room.exchange(true)) {  // the last round may still be at it
        post_guarded(reading, "retention", [this] {
          const Busy until_done(making_room);
          const auto done = retention.run(options.recorder.keep_free_bytes);
          if (!done) base::log_warning("retention", "{}", done.error().text());
          mend_the_rest();
          if (const auto trimmed = events.trim(); !trimmed)
            base::log_warning("events", "{}", trimmed.error().text());
        });
      }
      timer.expires_after(options.ticks.space);
      auto waiting = timer.async_wait(boost::asio::use_awaitable);
      co_await std::move(waiting);
    }
  }
};

Station::Station() = default;

Station::~Station() {
  stop();
  if (!impl_) return;
  impl_->reading.join();
  impl_->asking.join();
  impl_->computing.join();
  impl_->mend_the_rest();
}

base::Result<std::unique_ptr<Station>> Station::open(boost::asio::io_context& io, StationOptions options,
                                                     const base::Clock& clock) {
  auto catalog = open_catalog(options.home);
  if (!catalog) return catalog.error();
  auto lock = archive::HomeLock::take(options.home);
  if (!lock) return lock.error();
  auto to_mend = archive::plan_mend(**catalog);
  if (!to_mend) return to_mend.error();
  const auto mended = mend_if_there_is_room(**catalog, *to_mend);
  if (!mended) return mended.error();
  if (mended->mended + mended->set_aside > 0) {
    base::log_info("archive", "after an unclean stop: {} of {} segments mended ({} bytes cut), {} set aside",
                   mended->mended, mended->segments_looked_at, mended->bytes_cut, mended->set_aside);
  }
  std::unique_ptr<Station> station(new Station());
  station->impl_ =
      std::make_unique<Impl>(io, std::move(options), clock, std::move(*catalog), std::move(*lock));
  station->impl_->to_mend = std::move(*to_mend);
  if (const auto taken = station->impl_->take_up_events(); !taken) return taken.error();
  if (const auto applied = station->impl_->cameras.apply(); !applied) return applied.error();
  return station;
}

void Station::set_listening(std::vector<notices::OwnEndpoint> at) { impl_->notices.set_own(std::move(at)); }

void Station::start() {
  if (!impl_->cameras.start()) return;
  impl_->notices.start();
  impl_->films.start();
  if (const auto applied = impl_->cameras.apply(); !applied)
    base::log_error("station", "{}", applied.error().text());
  const auto strand = boost::asio::make_strand(impl_->io);
  Impl* impl = impl_.get();
  impl_->tasks.push_back(net::supervise(strand, "watch", [impl] { return impl->watching.run(); }));
  impl_->tasks.push_back(net::supervise(strand, "jobs", [impl] { return impl->jobs.run(); }));
  impl_->tasks.push_back(net::supervise(strand, "vitals", [impl] { return impl->vitals_taking.run(); }));
  impl_->tasks.push_back(net::supervise(strand, "settings", [impl] { return impl->watch_settings(); }));
  impl_->tasks.push_back(net::supervise(strand, "space", [impl] { return impl->watch_space(); }));
  impl_->tasks.push_back(net::supervise(strand, "find", [impl] { return impl->finding.run(); }));
  impl_->tasks.push_back(net::supervise(strand, "mdns", [impl] { return impl->finding.listen(); }));
}

void Station::stop() {
  if (!impl_) return;
  impl_->exports.ask_to_stop();
  for (net::Supervised& task : impl_->tasks) task.stop();
  for (const net::Supervised& task : impl_->tasks) task.wait_for(std::chrono::seconds(5));
  impl_->tasks.clear();
  impl_->finding.stop();
  impl_->jobs.stop();
  impl_->films.stop();
  impl_->cameras.stop();
  impl_->dropouts->close();
  impl_->notices.stop();
  impl_->recorder.flush();
  impl_->catalog->flush();
}

base::Result<void> Station::add(const camera::Settings& settings) {
  if (auto added = impl_->camera_store.add(settings); !added) return added;
  return impl_->cameras.apply();
}

base::Result<void> Station::set(const camera::Settings& settings) {
  if (auto changed = impl_->camera_store.set(settings); !changed) return changed;
  return impl_->cameras.apply();
}

base::Result<void> Station::change(const base::CameraName& name,
                                   const std::function<base::Result<void>(camera::Settings&)>& how) {
  if (auto changed = impl_->camera_store.change(name, how); !changed) return changed.error();
  return impl_->cameras.apply();
}

base::Result<void> Station::remove(const base::CameraName& name) {
  if (auto removed = impl_->camera_store.remove(name); !removed) return removed;
  return impl_->cameras.apply();
}

std::vector<CameraView> Station::cameras() const {
  std::vector<CameraView> views;
  for (const auto& [name, entry] : impl_->cameras.all()) views.push_back(impl_->view_of(*entry));
  return views;
}

base::Result<CameraView> Station::camera(const base::CameraName& name) const {
  const EntryPtr entry = impl_->cameras.find(name);
  if (!entry) return no_such_camera(name);
  return impl_->view_of(*entry);
}

std::size_t Station::camera_count() const { return impl_->cameras.count(); }

bool Station::knows(const base::CameraName& name) const { return impl_->cameras.find(name) != nullptr; }

base::Result<std::shared_ptr<camera::Feed>> Station::feed(const base::CameraName& name) const {
  const EntryPtr entry = impl_->cameras.find(name);
  if (!entry) return no_such_camera(name);
  return entry->pull.feed();
}

base::Result<void> Station::push(const base::CameraName& name, std::vector<std::byte> jpeg) {
  const EntryPtr entry = impl_->cameras.find(name);
  if (!entry) return no_such_camera(name);
  return entry->pull.push(std::move(jpeg));
}

archive::Catalog& Station::catalog() { return *impl_->catalog; }
archive::PeopleStore& Station::people() { return impl_->people; }
archive::SegmentStore& Station::segments() { return impl_->segments; }
archive::StripStore& Station::strips() { return impl_->strips; }
archive::EventStore& Station::events() { return impl_->events; }
archive::DropoutStore& Station::dropouts() { return impl_->dropout_store; }
archive::JobStore& Station::job_store() { return impl_->job_store; }
Films& Station::films() { return impl_->films; }
Jobs& Station::jobs() { return impl_->jobs; }
archive::VitalsStore& Station::vitals() { return impl_->vitals; }
notices::Desk& Station::notices() { return impl_->notices; }
Exports& Station::exports() { return impl_->exports; }
Sizes& Station::sizes() { return impl_->sizes; }
Finding& Station::finding() { return impl_->finding; }
const base::Clock& Station::clock() const { return impl_->clock; }
boost::asio::io_context& Station::io() { return impl_->io; }
boost::asio::thread_pool& Station::computing() { return impl_->computing; }
boost::asio::thread_pool& Station::asking() { return impl_->asking; }
boost::asio::thread_pool& Station::reading() { return impl_->reading; }
base::WallTime Station::started_at() const { return impl_->started_at; }
std::uint64_t Station::keep_free_bytes() const { return impl_->options.recorder.keep_free_bytes; }

archive::LateFlushes Station::late_flushes() const { return impl_->recorder.late_flushes(); }
std::optional<archive::AgeState> Station::age() const { return impl_->retention.age(); }
base::Result<void> Station::confirm_clock() { return impl_->retention.confirm_clock(); }

std::vector<Trouble> Station::troubles() const {
  Facts facts;
  facts.home = impl_->catalog->home();
  if (auto space = impl_->disk.space(facts.home)) facts.space = *space;
  facts.keep_free_bytes = keep_free_bytes();
  const auto loose = impl_->segments.oldest_unkept(1);
  facts.may_remove = !loose || !loose->empty();
  facts.waiting = impl_->recorder.waiting_for_room();
  facts.age = impl_->retention.age();
  if (auto pauses = notices::pause_faults(*impl_->catalog)) facts.pauses = std::move(*pauses);
  for (const CameraMove& one : impl_->finding.recent_moves())
    facts.moves.push_back({one.camera.text(), one.move.from, one.move.to, one.move.at});
  return troubles_of(facts);
}

}  // namespace rookery::station
