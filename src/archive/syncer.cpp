#include "archive/syncer.h"

#include "base/log.h"

namespace rookery::archive {

Syncer::Syncer(Disk& disk, Catalog& catalog, std::filesystem::path archive)
    : disk_(disk), catalog_(catalog), archive_(std::move(archive)), thread_([this] { run(); }) {}

Syncer::~Syncer() {
  {
    const std::lock_guard lock{mutex_};
    stopping_ = true;
  }
  changed_.notify_all();
  thread_.join();
}

bool Syncer::offer(Unsynced& unsynced) {
  if (unsynced.empty()) return true;
  {
    const std::lock_guard lock{mutex_};
    if (working_) return false;
    batch_ = std::exchange(unsynced, {});
    working_ = true;
  }
  changed_.notify_all();
  return true;
}

void Syncer::sync_and_wait(Unsynced& unsynced) {
  std::unique_lock lock{mutex_};
  changed_.wait(lock, [this] { return !working_; });
  if (unsynced.empty()) return;
  batch_ = std::exchange(unsynced, {});
  working_ = true;
  changed_.notify_all();
  changed_.wait(lock, [this] { return !working_; });
}

void Syncer::run() {
  std::unique_lock lock{mutex_};
  for (;;) {
    changed_.wait(lock, [this] { return working_ || stopping_; });
    if (!working_) return;
    lock.unlock();
    sync(batch_);
    lock.lock();
    // Files that are finished close here.
    batch_ = {};
    working_ = false;
    changed_.notify_all();
  }
}

void Syncer::sync(const Unsynced& batch) {
  std::set<const DiskFile*> unsafe;
  if (batch.files.size() >= kManyFiles) {
    if (!note(disk_.sync_all(archive_)))
      for (const auto& file : batch.files) unsafe.insert(file.get());
  } else {
    for (const auto& file : batch.files)
      if (!note(file->sync())) unsafe.insert(file.get());
    for (const auto& folder : batch.folders) note(disk_.sync_folder(folder));
  }
  for (const auto& closed : batch.closed) tell_closed(closed, !unsafe.contains(closed.file.get()));
}

void Syncer::tell_closed(const Unsynced::Closed& closed, bool safe) {
  if (!safe) {
    base::log_error(closed.segment.camera.text(),
                    "{} is finished but could not be flushed: the next start looks it through",
                    closed.segment.path);
    return;
  }
  SegmentStore{catalog_}.note_later(closed.segment);
}

bool Syncer::note(const base::Result<void>& done) {
  if (!done && !failing_) {
    base::log_error("archive", "{}; what was recorded in the last seconds may not survive a power cut",
                    done.error().text());
  }
  if (done && failing_) base::log_info("archive", "flushing to the disk works again");
  failing_ = !done;
  return done.has_value();
}

}  // namespace rookery::archive
