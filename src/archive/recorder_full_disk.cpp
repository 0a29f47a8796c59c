// Recorder: what it does while the disk takes nothing more.
#include "archive/recorder_impl.h"
#include "base/bytes.h"
#include "base/log.h"

namespace rookery::archive {
namespace {

// Deleted at once where only the refusal tells that the disk is full.
constexpr std::uint64_t kLeastFreed = 8u << 20;
// How often all files are walked through again for something to delete, when the last walk found nothing.
constexpr std::chrono::seconds kInsistAgain{15};

bool is_full(const base::Result<void>& done) {
  return !done && done.error().code == base::ErrorCode::disk_full;
}

}  // namespace

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

}  // namespace rookery::archive
