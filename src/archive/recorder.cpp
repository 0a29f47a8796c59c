#include "archive/recorder.h"

#include <algorithm>
#include <condition_variable>
#include <deque>
#include <map>
#include <mutex>
#include <thread>

#include "archive/camera_track.h"
#include "archive/retention.h"
#include "archive/segment_path.h"
#include "archive/syncer.h"
#include "base/bytes.h"
#include "base/log.h"

namespace rookery::archive {
namespace {

constexpr std::chrono::milliseconds kTick{100};
constexpr std::chrono::seconds kIdleTick{1};  // nothing is being recorded: a small computer may sleep
constexpr std::chrono::seconds kReportLossesEvery{10};
constexpr std::chrono::seconds kReportLateEvery{60};
// After a file failed otherwise than by a full disk, the camera's frames are given up for so long at once: a
// broken disk must not hold up the other cameras with one time-out a frame.
constexpr std::chrono::seconds kRest{1};
// Deleted at once where only the refusal tells that the disk is full.
constexpr std::uint64_t kLeastFreed = 8u << 20;
// How often all files are walked through again for something to delete, when the last walk found nothing.
constexpr std::chrono::seconds kInsistAgain{15};

bool is_full(const base::Result<void>& done) {
  return !done && done.error().code == base::ErrorCode::disk_full;
}

// One track of one camera, as the recorder's callers and its thread share it (guarded by Impl::mutex but for
// `track`).
struct Line {
  const base::CameraName camera;
  const Track kind;
  RecorderCounters counters;
  std::uint64_t lost_unreported = 0;
  std::string lost_why;
  std::optional<base::MonoTime> reported;
  std::unique_ptr<CameraTrack> track;        // the thread's own
  std::optional<base::MonoTime> rest_until;  // the thread's own

  Line(base::CameraName camera_, Track kind_) : camera(std::move(camera_)), kind(kind_) {}
};

struct Item {
  Line* line = nullptr;
  camera::FramePtr frame;  // null: finish the segment
};

}  // namespace

struct Recorder::Impl {
  Catalog& catalog;
  const RecorderOptions options;
  const base::Clock& clock;
  Disk& disk;
  Retention own_retention;
  Retention& retention;
  const std::filesystem::path archive;

  mutable std::mutex mutex;
  std::condition_variable wake;     // the thread: something queued, flush wanted, stop
  std::condition_variable settled;  // flush(): done or stalled
  using Key = std::pair<base::CameraName, Track>;
  std::map<Key, std::unique_ptr<Line>> lines;  // never taken out
  std::deque<Item> queue;
  std::size_t queue_bytes = 0;
  bool stopping = false;
  std::optional<Waiting> disk_full;
  LateFlushes late;
  std::uint64_t flushes_wanted = 0;
  std::uint64_t flushes_done = 0;

  // The thread's own.
  std::vector<Line*> tracked;  // those with a track
  Unsynced unsynced;
  base::MonoTime synced;  // since then something is not flushed
  base::MonoTime ticked;
  std::optional<base::MonoTime> full_since;
  std::optional<base::MonoTime> insisted_in_vain;  // in this full disk: when nothing was found to go
  std::optional<base::MonoTime> late_reported;
  Syncer syncer;
  TrackPlace place;
  std::thread thread;

  Impl(Catalog& catalog_, RecorderOptions options_, const base::Clock& clock_)
      : catalog(catalog_),
        options(options_),
        clock(clock_),
        disk(options.disk != nullptr ? *options.disk : real_disk()),
        own_retention(catalog, clock, disk),
        retention(options.retention != nullptr ? *options.retention : own_retention),
        archive(archive_folder(catalog.home())),
        synced(clock.mono()),
        ticked(synced),
        syncer(disk, catalog, archive),
        place{catalog, disk, clock, archive, options.segment_length, options.stills_length, unsynced, [this] {
                (void)make_room(0);
              }} {
    thread = std::thread([this] { run(); });
  }

  Line& line_of(const base::CameraName& camera, Track kind) {
    const Key key{camera, kind};
    auto found = lines.find(key);
    if (found == lines.end()) found = lines.emplace(key, std::make_unique<Line>(camera, kind)).first;
    return *found->second;
  }

  void run();
  void write(const Item& item);
  base::Result<void> write_through_full_disk(CameraTrack& track, const camera::Frame& frame);
  void enter_full(const base::Error& error);
  void leave_full();
  bool make_room(std::uint64_t least_freed_bytes);
  bool insist_on_room();
  void lose(Line& line, std::string why);
  void report_losses(base::MonoTime now, bool all);
  void tick(bool at_once);
  void note_flush(base::MonoTime::duration since_last);
  bool nothing_queued(const Line& line) const;
  bool is_idle() const;
  void end();
};

void Recorder::Impl::run() {
  std::unique_lock lock{mutex};
  for (;;) {
    wake.wait_for(lock, is_idle() ? kIdleTick : kTick,
                  [this] { return !queue.empty() || stopping || flushes_wanted != flushes_done; });
    if (!queue.empty()) {
      Item item = std::move(queue.front());
      queue.pop_front();
      lock.unlock();
      write(item);
      tick(false);
      lock.lock();
      continue;
    }
    if (stopping) break;
    const auto wanted = flushes_wanted;
    lock.unlock();
    tick(wanted != flushes_done);
    lock.lock();
    flushes_done = wanted;
    settled.notify_all();
  }
  lock.unlock();
  end();
}

void Recorder::Impl::write(const Item& item) {
  Line& line = *item.line;
  if (unsynced.empty()) synced = clock.mono();
  if (!item.frame) {
    if (line.track) line.track->close();
    return;
  }
  const auto size = item.frame->bytes.size();
  base::Result<void> done;
  if (line.rest_until && clock.mono() < *line.rest_until) {
    done = base::Error{base::ErrorCode::io, {}, "the disk failed a moment ago"};
  } else {
    if (!line.track) {
      line.track = std::make_unique<CameraTrack>(line.camera, line.kind, place);
      tracked.push_back(&line);
    }
    done = write_through_full_disk(*line.track, *item.frame);
    line.rest_until.reset();
    if (!done && done.error().code != base::ErrorCode::disk_full) line.rest_until = clock.mono() + kRest;
  }
  const std::lock_guard lock{mutex};
  queue_bytes -= size;
  --line.counters.queued;
  if (done) {
    ++line.counters.written;
    line.counters.bytes_written += size;
  } else {
    lose(line, done.error().text());
  }
}

base::Result<void> Recorder::Impl::write_through_full_disk(CameraTrack& track, const camera::Frame& frame) {
  auto done = track.write(frame);
  if (!done && !is_full(done)) {
    // This file is spoilt; perhaps a new one works.
    track.give_up();
    done = track.write(frame);
  }
  while (is_full(done)) {
    enter_full(done.error());
    const bool any_went = make_room(0);
    done = track.write(frame);
    const auto now = clock.mono();
    if (is_full(done) && !any_went && (!insisted_in_vain || now - *insisted_in_vain >= kInsistAgain)) {
      if (insist_on_room()) {
        insisted_in_vain.reset();
      } else {
        insisted_in_vain = now;
      }
      done = track.write(frame);
    }
    if (!is_full(done)) break;
    std::unique_lock lock{mutex};
    settled.notify_all();  // nobody waits for a disk that has no room
    if (wake.wait_for(lock, options.retry_every, [this] { return stopping; })) break;
    lock.unlock();
    report_losses(clock.mono(), false);
  }
  if (done) {
    leave_full();
  } else {
    track.give_up();
  }
  return done;
}

void Recorder::Impl::enter_full(const base::Error& error) {
  if (full_since) return;
  full_since = clock.mono();
  const auto space = disk.space(archive);
  base::log_error("archive",
                  "{} ({:.1f} of {:.1f} MB are free); recording waits, frames are queued up to {} MB",
                  error.text(), space ? base::megabytes(space->free_bytes) : 0.0,
                  space ? base::megabytes(space->total_bytes) : 0.0, options.queue_most_bytes >> 20);
  const std::lock_guard lock{mutex};
  disk_full = Waiting{clock.wall()};
}

void Recorder::Impl::leave_full() {
  if (!full_since) return;
  const auto waited = std::chrono::duration_cast<std::chrono::milliseconds>(clock.mono() - *full_since);
  full_since.reset();
  insisted_in_vain.reset();
  base::log_info("archive", "recording goes on after {} ms", waited.count());
  const std::lock_guard lock{mutex};
  disk_full.reset();
}

// Returns whether anything went.
bool Recorder::Impl::make_room(std::uint64_t least_freed_bytes) {
  // Retention takes only what the catalog calls closed, and closed is only what is flushed.
  syncer.sync_and_wait(unsynced);
  catalog.flush();
  // At least what is queued and one more index must fit, whatever the settings say.
  const std::uint64_t least = 2 * options.queue_most_bytes;
  auto space = disk.space(archive);
  const std::uint64_t bearable = space ? std::min(least, space->total_bytes / 8) : least;
  auto removed = retention.run(std::max(options.keep_free_bytes, bearable), least_freed_bytes);
  if (!removed) base::log_error("archive", "retention: {}", removed.error().text());
  return removed && removed->removed > 0;
}

// The disk refuses although it says that it has room (a quota), or nothing that is closed may go. In the
// second case the recordings since each camera's last cut are all that can: ended as they are, since an index
// needs room, the oldest of them make room for what is new. That they are closed may not fit into the catalog
// either.
// Returns whether anything went.
bool Recorder::Impl::insist_on_room() {
  if (make_room(kLeastFreed)) return true;
  for (Line* line : tracked) line->track->give_up();
  if (make_room(kLeastFreed)) return true;
  const auto removed = remove_oldest_files(catalog.home(), kLeastFreed, disk);
  if (removed.empty()) return false;
  catalog.flush();  // what is queued of them comes before they are forgotten
  if (auto done = SegmentStore{catalog}.forget(removed); !done)
    base::log_error("archive", "{}", done.error().text());
  return true;
}

// Guarded by mutex. Logged at once when it begins, then summed up.
void Recorder::Impl::lose(Line& line, std::string why) {
  ++line.counters.lost;
  if (disk_full) ++disk_full->lost_since;
  ++line.lost_unreported;
  line.lost_why = std::move(why);
}

void Recorder::Impl::report_losses(base::MonoTime now, bool all) {
  std::vector<std::tuple<std::string, std::uint64_t, std::string>> reports;
  {
    const std::lock_guard lock{mutex};
    for (auto& [key, line] : lines) {
      if (line->lost_unreported == 0) continue;
      if (!all && line->reported && now - *line->reported < kReportLossesEvery) continue;
      reports.emplace_back(key.first.text(), std::exchange(line->lost_unreported, 0), line->lost_why);
      line->reported = now;
    }
  }
  for (const auto& [name, count, why] : reports)
    base::log_error(name, "{} frames not recorded: {}", count, why);
}

void Recorder::Impl::tick(bool at_once) {
  const auto now = clock.mono();
  if (unsynced.empty()) synced = now;
  if (at_once || now - ticked >= kTick) {
    ticked = now;
    const auto wall = clock.wall();
    for (Line* line : tracked) {
      line->track->tick(wall, now, nothing_queued(*line));
      if (at_once) line->track->tell_catalog();
    }
    report_losses(now, false);
  }
  if (at_once) {
    synced = now;
    syncer.sync_and_wait(unsynced);
    catalog.flush();
  } else if (!unsynced.empty() && now - synced >= options.flush_within * 3 / 4) {
    // A quarter is left for the flush itself, so that what a power cut takes is no older than flush_within.
    if (syncer.offer(unsynced)) {
      note_flush(now - synced);
      synced = now;
    }
  }
}

// The flush before took so long that this one comes late: what a power cut takes is more than was promised.
void Recorder::Impl::note_flush(base::MonoTime::duration since_last) {
  if (since_last <= options.flush_within) return;
  const std::lock_guard lock{mutex};
  ++late.flushes;
  late.longest = std::max(late.longest, std::chrono::duration_cast<base::Milliseconds>(since_last));
  if (late_reported && clock.mono() - *late_reported < kReportLateEvery) return;
  late_reported = clock.mono();
  base::log_warning(
      "archive",
      "the disk took {} ms to flush what was recorded, so a power cut would have taken that much "
      "({} times so far); look at what else writes to it, or use a faster one",
      std::chrono::duration_cast<base::Milliseconds>(since_last).count(), late.flushes);
}

// Asked after the clock was read: a camera whose frames wait for a slow disk is not silent.
bool Recorder::Impl::nothing_queued(const Line& line) const {
  const std::lock_guard lock{mutex};
  return line.counters.queued == 0;
}

bool Recorder::Impl::is_idle() const {
  return unsynced.empty() &&
         std::ranges::none_of(tracked, [](const Line* line) { return line->track->is_open(); });
}

void Recorder::Impl::end() {
  for (Line* line : tracked) line->track.reset();
  report_losses(clock.mono(), true);
  syncer.sync_and_wait(unsynced);
  catalog.flush();
}

Recorder::Recorder(Catalog& catalog, RecorderOptions options, const base::Clock& clock)
    : impl_(std::make_unique<Impl>(catalog, options, clock)) {}

Recorder::~Recorder() {
  {
    const std::lock_guard lock{impl_->mutex};
    impl_->stopping = true;
  }
  impl_->wake.notify_all();
  impl_->thread.join();
}

void Recorder::record(const base::CameraName& camera, camera::FramePtr frame, Track track) {
  Impl& impl = *impl_;
  {
    const std::lock_guard lock{impl.mutex};
    Line& line = impl.line_of(camera, track);
    ++line.counters.taken;
    const auto size = frame->bytes.size();
    if (impl.queue_bytes + size > impl.options.queue_most_bytes) {
      impl.lose(line, impl.disk_full ? "the disk is full and so is the queue"
                                     : "the disk is too slow and the queue is full");
      return;
    }
    impl.queue_bytes += size;
    ++line.counters.queued;
    impl.queue.push_back({&line, std::move(frame)});
  }
  impl.wake.notify_all();
}

void Recorder::finish(const base::CameraName& camera, Track track) {
  {
    const std::lock_guard lock{impl_->mutex};
    impl_->queue.push_back({&impl_->line_of(camera, track), nullptr});
  }
  impl_->wake.notify_all();
}

void Recorder::flush() {
  Impl& impl = *impl_;
  std::unique_lock lock{impl.mutex};
  const auto ticket = ++impl.flushes_wanted;
  impl.wake.notify_all();
  impl.settled.wait(lock, [&] { return impl.flushes_done >= ticket || impl.disk_full.has_value(); });
}

RecorderCounters Recorder::counters(const base::CameraName& camera) const {
  const std::lock_guard lock{impl_->mutex};
  RecorderCounters all;
  for (const Track track : {Track::recording, Track::stills}) {
    const auto found = impl_->lines.find({camera, track});
    if (found == impl_->lines.end()) continue;
    const RecorderCounters& one = found->second->counters;
    all.taken += one.taken;
    all.written += one.written;
    all.lost += one.lost;
    all.queued += one.queued;
    all.bytes_written += one.bytes_written;
  }
  return all;
}

std::optional<Recorder::Waiting> Recorder::waiting_for_room() const {
  const std::lock_guard lock{impl_->mutex};
  auto waiting = impl_->disk_full;
  if (waiting) waiting->queued_bytes = impl_->queue_bytes;
  return waiting;
}

LateFlushes Recorder::late_flushes() const {
  const std::lock_guard lock{impl_->mutex};
  return impl_->late;
}

}  // namespace rookery::archive
