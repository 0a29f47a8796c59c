#include "station/camera_set.h"

#include <algorithm>

#include "base/log.h"

namespace rookery::station {
CameraSet::CameraSet(boost::asio::io_context& io, const archive::Catalog& catalog,
                     archive::CameraStore& store, archive::Recorder& recorder, const base::Clock& clock,
                     Options options)
    : catalog_(catalog),
      store_(store),
      recorder_(recorder),
      options_(std::move(options)),
      common_{io.get_executor(),
              options_.limits,
              clock,
              std::make_shared<camera::BoardRegister>(),
              options_.next_event_id,
              std::make_shared<camera::GapBoard>(),
              options_.on_dropout},
      seeds_(options_.seed) {}

bool CameraSet::start() {
  if (running_.exchange(true)) return false;
  applied_version_ = -1;
  return true;
}

void CameraSet::stop() {
  const std::lock_guard one_at_a_time(applying_);
  std::map<base::CameraName, EntryPtr> entries;
  {
    const std::lock_guard lock(mutex_);
    running_ = false;
    entries.swap(entries_);
    order_.clear();
  }
  leaving_.clear();
  for (auto& [name, entry] : entries) {
    end(name, *entry);
  }
}

bool CameraSet::is_behind() const { return running_ && catalog_.settings_version() != applied_version_; }

base::Result<void> CameraSet::apply() {
  const std::lock_guard one_at_a_time(applying_);
  const std::int64_t version = catalog_.settings_version();
  const auto wanted = store_.list();
  if (!wanted) return wanted.error();
  let_go(*wanted);
  const bool free = all_let_go();
  if (!free)
    base::log_warning("station", "a connection to a board takes long to close; asking boards waits for it");
  const std::size_t pre_roll = pre_roll_bytes(*wanted);
  for (const auto& settings : *wanted) settle(settings, pre_roll, free);
  std::vector<base::CameraName> names;
  for (const auto& settings : *wanted) names.push_back(settings.name);
  const std::lock_guard lock(mutex_);
  order_ = std::move(names);
  applied_version_ = free ? version : -1;
  return base::ok();
}

// First everything that ends: removed cameras, and connections to boards that change. Who gets which board is
// settled when all of them are free.
void CameraSet::let_go(const std::vector<camera::Settings>& wanted) {
  std::vector<EntryPtr> gone;
  {
    const std::lock_guard lock(mutex_);
    for (auto it = entries_.begin(); it != entries_.end();) {
      Entry& entry = *it->second;
      const auto kept = std::ranges::find(wanted, it->first, &camera::Settings::name);
      if (kept == wanted.end()) {
        gone.push_back(it->second);
        it = entries_.erase(it);
        continue;
      }
      if (entry.pulling && (!kept->enabled || !camera::same_board(*kept, entry.settings))) {
        entry.pulling = false;
        entry.pull.stop();
        leaving_.push_back(it->second);
      }
      ++it;
    }
    std::erase_if(order_, [this](const base::CameraName& name) { return !entries_.contains(name); });
  }
  for (const EntryPtr& entry : gone) {
    retire(*entry);
    leaving_.push_back(entry);
  }
}

bool CameraSet::all_let_go() {
  const auto until = std::chrono::steady_clock::now() + options_.let_go;
  std::erase_if(leaving_, [until](const EntryPtr& entry) {
    const auto left = until - std::chrono::steady_clock::now();
    return entry->pull.wait_let_go(
        std::max(std::chrono::milliseconds(0), std::chrono::duration_cast<std::chrono::milliseconds>(left)));
  });
  return leaving_.empty();
}

void CameraSet::retire(Entry& entry) {
  end(entry.settings.name, entry);
  base::log_info(entry.settings.name.text(), "removed; its recordings stay");
}

void CameraSet::end(const base::CameraName& name, Entry& entry) {
  entry.tap.reset();
  entry.pull.stop();
  entry.pull.feed()->close();
  entry.recording.finish();
  options_.on_leaving(name, entry);
}

// Each camera's part. More than a board sends in the longest pre-roll is of no use.
std::size_t CameraSet::pre_roll_bytes(const std::vector<camera::Settings>& wanted) const {
  constexpr std::size_t kMostOfOne = 32u << 20;
  const auto sharing = std::ranges::count(wanted, camera::Record::events, &camera::Settings::record);
  return std::min(kMostOfOne, options_.pre_roll_most_bytes /
                                  static_cast<std::size_t>(std::max<std::ptrdiff_t>(sharing, 1)));
}

// Brings one camera to these settings, making it when it is new.
void CameraSet::settle(const camera::Settings& settings, std::size_t pre_roll_bytes, bool may_start) {
  EntryPtr entry = find(settings.name);
  bool changed = false;
  if (!entry) {
    entry = make(settings);
    const std::lock_guard lock(mutex_);
    entries_[settings.name] = entry;
  } else {
    const std::lock_guard lock(mutex_);
    changed = entry->settings != settings;
    entry->settings = settings;
  }
  if (changed) entry->pull.set(settings);
  entry->watch.set(settings.sensitivity, settings.mask);
  set_recording(*entry, settings, pre_roll_bytes);
  if (!entry->pulling && settings.enabled && running_ && may_start) {
    entry->pulling = true;
    entry->pull.start();
  }
}

EntryPtr CameraSet::make(const camera::Settings& settings) {
  auto entry = std::make_shared<Entry>(
      common_, settings, seeds_(),
      EventRecording::Sink{
          [this, name = settings.name](const camera::FramePtr& frame) { recorder_.record(name, frame); },
          [this, name = settings.name] { recorder_.finish(name); }});
  options_.on_coming(settings.name, *entry);
  return entry;
}

void CameraSet::set_recording(Entry& entry, const camera::Settings& settings, std::size_t pre_roll_bytes) {
  entry.recording.set(settings.record, settings.pre_roll, pre_roll_bytes);
  const bool on = settings.record != camera::Record::never;
  if (on && !entry.tap) {
    // The entry owns the tap.
    EventRecording* recording = &entry.recording;
    entry.tap =
        entry.pull.feed()->tap([recording](const camera::FramePtr& frame) { recording->take(frame); });
  } else if (!on && entry.tap) {
    entry.tap.reset();
    entry.recording.finish();
  }
}

std::vector<std::pair<base::CameraName, EntryPtr>> CameraSet::all() const {
  const std::lock_guard lock(mutex_);
  std::vector<std::pair<base::CameraName, EntryPtr>> out;
  for (const auto& name : order_) {
    const auto it = entries_.find(name);
    if (it != entries_.end()) out.emplace_back(name, it->second);
  }
  return out;
}

std::size_t CameraSet::count() const {
  const std::lock_guard lock(mutex_);
  return entries_.size();
}

EntryPtr CameraSet::find(const base::CameraName& name) const {
  const std::lock_guard lock(mutex_);
  const auto it = entries_.find(name);
  return it == entries_.end() ? nullptr : it->second;
}

camera::Settings CameraSet::settings_of(const Entry& entry) const {
  const std::lock_guard lock(mutex_);
  return entry.settings;
}

}  // namespace rookery::station
