#include "archive/recorder.h"

#include <algorithm>

#include "archive/recorder_impl.h"
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
}  // namespace

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
    Impl::Line& line = impl.line_of(camera, track);
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
