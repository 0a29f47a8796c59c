// Inner: waits for the disk's flushes on a thread of its own, so that the writer need not.
#pragma once

#include <condition_variable>
#include <filesystem>
#include <memory>
#include <mutex>
#include <set>
#include <thread>
#include <vector>

#include "archive/disk.h"
#include "archive/segment_store.h"

namespace rookery::archive {

// What was written since the last flush.
struct Unsynced {
  // A segment that is finished: the catalog may call it closed only when a power cut cannot take it back,
  // since nobody mends a closed one.
  struct Closed {
    Segment segment;
    std::shared_ptr<DiskFile> file;
  };
  std::set<std::shared_ptr<DiskFile>> files;
  std::set<std::filesystem::path> folders;  // in which files were made
  std::vector<Closed> closed;               // their files are among `files`
  bool empty() const { return files.empty() && folders.empty(); }
};

// From this many files on, one syncfs of the whole file system instead of an fdatasync each: every fdatasync
// of a grown file commits the journal (docs/decisions/0014-flushing-segments.md has the measurement).
inline constexpr std::size_t kManyFiles = 8;

// any-thread.
class Syncer {
 public:
  // `disk` and `catalog` are borrowed and outlive the syncer.
  Syncer(Disk& disk, Catalog& catalog, std::filesystem::path archive);
  ~Syncer();  // finishes what was given
  Syncer(const Syncer&) = delete;
  Syncer& operator=(const Syncer&) = delete;

  // Takes over `unsynced` and leaves it empty, unless the flush before is still going on: then nothing
  // changes and the answer is false.
  bool offer(Unsynced& unsynced);
  // Waits for the running flush, then flushes `unsynced` and waits for that.
  void sync_and_wait(Unsynced& unsynced);

 private:
  void run();
  void sync(const Unsynced& batch);
  bool note(const base::Result<void>& done);
  void tell_closed(const Unsynced::Closed& closed, bool safe);

  Disk& disk_;
  Catalog& catalog_;
  const std::filesystem::path archive_;
  std::mutex mutex_;
  std::condition_variable changed_;
  Unsynced batch_;
  bool working_ = false;
  bool stopping_ = false;
  bool failing_ = false;  // thread only
  std::thread thread_;
};

}  // namespace rookery::archive
