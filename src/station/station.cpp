#include "station/station.h"

#include <map>
#include <random>

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/strand.hpp>
#include <boost/asio/use_awaitable.hpp>

#include "archive/home_lock.h"
#include "archive/upkeep.h"
#include "base/log.h"
#include "net/supervise.h"
#include "station/strip_watch.h"

namespace rookery::station {
namespace {

// Each camera is looked at for its strip twice a second; the cameras take turns, so that a hundred do not
// decode at once.
constexpr std::chrono::milliseconds kStripTick{50};
constexpr std::size_t kStripTurns = 10;
constexpr std::chrono::seconds kSettingsTick{1};
constexpr std::chrono::seconds kRetentionTick{60};

base::Error no_such_camera(const base::CameraName& name) {
  return base::Error(base::ErrorCode::not_found, "camera",
                     fmt::format("there is no camera \"{}\"", name.text()),
                     "`rookery camera list` shows those there are.");
}

// Work for the pool; what it throws (memory, a dying disk) is logged and ends nothing else.
template <class Work>
void post_guarded(boost::asio::thread_pool& workers, const char* about, Work work) {
  boost::asio::post(workers, [about, work = std::move(work)]() mutable {
    try {
      work();
    } catch (const std::exception& failure) {
      base::log_error(about, "{}", failure.what());
    }
  });
}

// One camera while the station runs.
struct Entry {
  camera::Settings settings;  // guarded by the station's mutex
  camera::Pull pull;
  std::unique_ptr<camera::Feed::Tap> tap;
  StripWatch strip;
  std::atomic<bool> looking{false};  // a strip look is under way
  bool pulling = false;              // guarded by the station's `applying`

  Entry(boost::asio::any_io_executor executor, camera::Settings settings_, const camera::PullLimits& limits,
        const base::Clock& clock, std::uint64_t seed)
      : settings(settings_), pull(std::move(executor), std::move(settings_), limits, clock, seed) {}
};
using EntryPtr = std::shared_ptr<Entry>;

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
  boost::asio::thread_pool workers{2};
  archive::Recorder recorder;
  Exports exports;
  Sizes sizes;
  base::WallTime started_at;
  std::mt19937_64 seeds;

  std::mutex applying;  // one change of the set of cameras at a time; taken before `mutex`
  mutable std::mutex mutex;
  std::map<base::CameraName, EntryPtr> entries;
  std::vector<base::CameraName> order;  // as in the catalog
  std::int64_t applied_version = -1;
  std::atomic<bool> running{false};

  std::vector<net::Supervised> tasks;
  std::atomic<bool> making_room{false};  // a round of retention is under way
  std::size_t turn = 0;                  // of the strips; touched by its own task only

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
        recorder(*catalog, options.recorder, clock),
        exports(*catalog, clock),
        sizes(workers),
        started_at(clock.wall()),
        seeds(options.seed != 0 ? options.seed : std::random_device{}()) {}

  // Makes the running cameras those of the catalog. any-thread, blocks.
  base::Result<void> apply() {
    const std::lock_guard one_at_a_time(applying);
    const std::int64_t version = catalog->settings_version();
    auto wanted = camera_store.list();
    if (!wanted) return wanted.error();

    std::vector<EntryPtr> gone;
    {
      const std::lock_guard lock(mutex);
      std::vector<base::CameraName> names;
      for (const auto& settings : *wanted) names.push_back(settings.name);
      for (auto it = entries.begin(); it != entries.end();) {
        if (std::find(names.begin(), names.end(), it->first) == names.end()) {
          gone.push_back(it->second);
          it = entries.erase(it);
        } else {
          ++it;
        }
      }
      order = std::move(names);
      applied_version = version;
    }
    for (const EntryPtr& entry : gone) retire(*entry);
    for (const auto& settings : *wanted) settle(settings);
    return base::ok();
  }

  void retire(Entry& entry) {
    entry.tap.reset();
    entry.pull.stop();
    entry.pull.feed()->close();
    recorder.finish(entry.settings.name);
    base::log_info(entry.settings.name.text(), "removed; its recordings stay");
  }

  // Brings one camera to these settings, making it when it is new. Called with `applying` held.
  void settle(const camera::Settings& settings) {
    EntryPtr entry;
    bool is_new = false;
    camera::Settings before = settings;
    {
      const std::lock_guard lock(mutex);
      EntryPtr& place = entries[settings.name];
      is_new = !place;
      if (is_new) place = std::make_shared<Entry>(io.get_executor(), settings, options.pull, clock, seeds());
      entry = place;
      before = entry->settings;
      entry->settings = settings;
    }
    if (!is_new && before != settings) entry->pull.set(settings);
    set_recording(*entry, settings.name, settings.recording);
    const bool pull = settings.enabled && running;
    if (pull == entry->pulling) return;
    entry->pulling = pull;
    pull ? entry->pull.start() : entry->pull.stop();
  }

  void set_recording(Entry& entry, const base::CameraName& name, bool on) {
    if (on && !entry.tap) {
      entry.tap = entry.pull.feed()->tap(
          [this, name](const camera::FramePtr& frame) { recorder.record(name, frame); });
    } else if (!on && entry.tap) {
      entry.tap.reset();
      recorder.finish(name);
    }
  }

  std::vector<std::pair<base::CameraName, EntryPtr>> snapshot() const {
    const std::lock_guard lock(mutex);
    std::vector<std::pair<base::CameraName, EntryPtr>> all;
    for (const auto& name : order) {
      const auto it = entries.find(name);
      if (it != entries.end()) all.emplace_back(name, it->second);
    }
    return all;
  }

  // Null when there is none.
  EntryPtr find(const base::CameraName& name) const {
    const std::lock_guard lock(mutex);
    const auto it = entries.find(name);
    return it == entries.end() ? nullptr : it->second;
  }

  CameraView view_of(const Entry& entry) const {
    camera::Settings settings = [&] {
      const std::lock_guard lock(mutex);
      return entry.settings;
    }();
    const auto counters = recorder.counters(settings.name);
    return CameraView(std::move(settings), entry.pull.status(), counters, entry.pull.feed()->viewers());
  }

  void look_at(const base::CameraName& name, const EntryPtr& entry) {
    if (entry->looking.exchange(true)) return;  // the last look is not done: the workers are busy, skip
    post_guarded(workers, "strips", [this, name, entry] {
      const auto mark = entry->strip.look(entry->pull.feed()->latest(), entry->pull.status(),
                                          source_of(*entry), clock.wall());
      if (mark) strips.put_later(name, mark->at, mark->step);
      entry->looking = false;
    });
  }

  camera::Source source_of(const Entry& entry) const {
    const std::lock_guard lock(mutex);
    return entry.settings.source;
  }

  boost::asio::awaitable<void> watch_strips() {
    boost::asio::steady_timer timer(co_await boost::asio::this_coro::executor);
    for (;;) {
      timer.expires_after(kStripTick);
      co_await timer.async_wait(boost::asio::use_awaitable);
      turn = (turn + 1) % kStripTurns;
      const auto all = snapshot();
      for (std::size_t i = turn; i < all.size(); i += kStripTurns) look_at(all[i].first, all[i].second);
    }
  }

  // Notices what another process (the command line) changed in the catalog.
  boost::asio::awaitable<void> watch_settings() {
    boost::asio::steady_timer timer(co_await boost::asio::this_coro::executor);
    for (;;) {
      timer.expires_after(kSettingsTick);
      co_await timer.async_wait(boost::asio::use_awaitable);
      post_guarded(workers, "settings", [this] {
        const bool changed = [this] {
          const std::lock_guard lock(mutex);
          return running && catalog->settings_version() != applied_version;
        }();
        if (!changed) return;
        if (const auto applied = apply(); !applied)
          base::log_warning("station", "{}", applied.error().text());
      });
    }
  }

  boost::asio::awaitable<void> watch_space() {
    boost::asio::steady_timer timer(co_await boost::asio::this_coro::executor);
    for (;;) {
      if (!making_room.exchange(true)) {  // the last round may still be at it
        post_guarded(workers, "retention", [this] {
          const auto done = archive::run_retention(*catalog, options.recorder.keep_free_bytes, clock);
          making_room = false;
          if (!done) base::log_warning("retention", "{}", done.error().text());
        });
      }
      timer.expires_after(kRetentionTick);
      co_await timer.async_wait(boost::asio::use_awaitable);
    }
  }
};

Station::Station() = default;

Station::~Station() {
  stop();
  if (impl_) impl_->workers.join();
}

base::Result<std::unique_ptr<Station>> Station::open(boost::asio::io_context& io, StationOptions options,
                                                     const base::Clock& clock) {
  auto catalog = archive::Catalog::open(options.home);
  if (!catalog) return catalog.error();
  auto lock = archive::HomeLock::take(options.home);
  if (!lock) return lock.error();
  const auto mended = archive::mend(**catalog);
  if (!mended) return mended.error();
  if (mended->mended + mended->set_aside > 0) {
    base::log_info("archive", "after an unclean stop: {} of {} segments mended ({} bytes cut), {} set aside",
                   mended->mended, mended->segments_looked_at, mended->bytes_cut, mended->set_aside);
  }
  std::unique_ptr<Station> station(new Station());
  station->impl_ =
      std::make_unique<Impl>(io, std::move(options), clock, std::move(*catalog), std::move(*lock));
  if (const auto applied = station->impl_->apply(); !applied) return applied.error();
  return station;
}

void Station::start() {
  {
    const std::lock_guard lock(impl_->mutex);
    if (impl_->running) return;
    impl_->running = true;
    impl_->applied_version = -1;
  }
  if (const auto applied = impl_->apply(); !applied) base::log_error("station", "{}", applied.error().text());
  const auto strand = boost::asio::make_strand(impl_->io);
  Impl* impl = impl_.get();
  impl_->tasks.push_back(net::supervise(strand, "strips", [impl] { return impl->watch_strips(); }));
  impl_->tasks.push_back(net::supervise(strand, "settings", [impl] { return impl->watch_settings(); }));
  impl_->tasks.push_back(net::supervise(strand, "space", [impl] { return impl->watch_space(); }));
}

void Station::stop() {
  if (!impl_) return;
  for (net::Supervised& task : impl_->tasks) task.stop();
  for (const net::Supervised& task : impl_->tasks) task.wait_for(std::chrono::seconds(5));
  impl_->tasks.clear();
  const std::lock_guard one_at_a_time(impl_->applying);
  std::map<base::CameraName, EntryPtr> entries;
  {
    const std::lock_guard lock(impl_->mutex);
    impl_->running = false;
    entries.swap(impl_->entries);
    impl_->order.clear();
  }
  for (auto& [name, entry] : entries) {
    entry->tap.reset();
    entry->pull.stop();
    entry->pull.feed()->close();
    impl_->recorder.finish(name);
  }
  impl_->recorder.flush();
  impl_->catalog->flush();
}

base::Result<void> Station::add(const camera::Settings& settings) {
  if (auto added = impl_->camera_store.add(settings); !added) return added;
  return impl_->apply();
}

base::Result<void> Station::set(const camera::Settings& settings) {
  if (auto changed = impl_->camera_store.set(settings); !changed) return changed;
  return impl_->apply();
}

base::Result<void> Station::remove(const base::CameraName& name) {
  if (auto removed = impl_->camera_store.remove(name); !removed) return removed;
  return impl_->apply();
}

std::vector<CameraView> Station::cameras() const {
  std::vector<CameraView> views;
  for (const auto& [name, entry] : impl_->snapshot()) views.push_back(impl_->view_of(*entry));
  return views;
}

base::Result<CameraView> Station::camera(const base::CameraName& name) const {
  const EntryPtr entry = impl_->find(name);
  if (!entry) return no_such_camera(name);
  return impl_->view_of(*entry);
}

base::Result<std::shared_ptr<camera::Feed>> Station::feed(const base::CameraName& name) const {
  const EntryPtr entry = impl_->find(name);
  if (!entry) return no_such_camera(name);
  return entry->pull.feed();
}

base::Result<void> Station::push(const base::CameraName& name, std::vector<std::byte> jpeg) {
  const EntryPtr entry = impl_->find(name);
  if (!entry) return no_such_camera(name);
  return entry->pull.push(std::move(jpeg));
}

archive::Catalog& Station::catalog() { return *impl_->catalog; }
archive::PeopleStore& Station::people() { return impl_->people; }
archive::SegmentStore& Station::segments() { return impl_->segments; }
archive::StripStore& Station::strips() { return impl_->strips; }
Exports& Station::exports() { return impl_->exports; }
Sizes& Station::sizes() { return impl_->sizes; }
const base::Clock& Station::clock() const { return impl_->clock; }
boost::asio::io_context& Station::io() { return impl_->io; }
boost::asio::thread_pool& Station::workers() { return impl_->workers; }
base::WallTime Station::started_at() const { return impl_->started_at; }
std::uint64_t Station::keep_free_bytes() const { return impl_->options.recorder.keep_free_bytes; }

}  // namespace rookery::station
