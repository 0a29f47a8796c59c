// Inner: what the recorder's callers and its thread share.
#pragma once

#include <condition_variable>
#include <deque>
#include <map>
#include <mutex>
#include <thread>

#include "archive/camera_track.h"
#include "archive/recorder.h"
#include "archive/retention.h"
#include "archive/segment_path.h"
#include "archive/syncer.h"

namespace rookery::archive {

// One track of one camera, as the recorder's callers and its thread share it (guarded by Impl::mutex but for
// `track`).
struct RecorderLine {
  const base::CameraName camera;
  const Track kind;
  RecorderCounters counters;
  std::uint64_t lost_unreported = 0;
  std::string lost_why;
  std::optional<base::MonoTime> reported;
  std::unique_ptr<CameraTrack> track;        // the thread's own
  std::optional<base::MonoTime> rest_until;  // the thread's own

  RecorderLine(base::CameraName camera_, Track kind_) : camera(std::move(camera_)), kind(kind_) {}
};

struct RecorderItem {
  RecorderLine* line = nullptr;
  camera::FramePtr frame;  // null: finish the segment
};

struct Recorder::Impl {
  using Line = RecorderLine;
  using Item = RecorderItem;

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

}  // namespace rookery::archive
