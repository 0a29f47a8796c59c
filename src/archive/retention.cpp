#include "archive/retention.h"

#include <SQLiteCpp/SQLiteCpp.h>

#include <set>

#include "archive/camera_store.h"
#include "archive/film_store.h"
#include "archive/job_store.h"
#include "archive/retention_jobs.h"
#include "archive/segment_path.h"
#include "archive/segment_store.h"
#include "base/bytes.h"
#include "base/log.h"

namespace rookery::archive {
namespace {

// So many entries are fetched at once.
constexpr std::size_t kBatch = 64;

// What became of one segment that was to go.
enum class Gone {
  no,          // kept, or it could not be deleted: everything is as it was
  entry_only,  // there was no file any more
  with_file,
};

class Round {
 public:
  Round(Catalog& catalog, Disk& disk)
      : catalog_(catalog), disk_(disk), store_(catalog), archive_(archive_folder(catalog.home())) {}

  using Fetch = std::function<base::Result<std::vector<Segment>>(std::size_t most)>;
  // Removes what `fetch` gives, oldest first, as long as `wanted` says so. `gone` is told of what went.
  base::Result<void> remove_while(const Fetch& fetch, const std::function<bool(const Segment&)>& wanted,
                                  const std::function<void(const Segment&, Gone)>& gone,
                                  std::string_view reason);

  RetentionReport& report() { return report_; }
  SegmentStore& store() { return store_; }
  const std::filesystem::path& archive() const { return archive_; }

 private:
  Gone remove(const Segment& segment, std::string_view reason);
  base::Result<bool> remove_unless_kept(const Segment& segment);

  Catalog& catalog_;
  Disk& disk_;
  SegmentStore store_;
  const std::filesystem::path archive_;
  RetentionReport report_;
  std::set<std::int64_t> passed_over_;  // not to be removed, for whatever reason
};

base::Result<void> Round::remove_while(const Fetch& fetch, const std::function<bool(const Segment&)>& wanted,
                                       const std::function<void(const Segment&, Gone)>& gone,
                                       std::string_view reason) {
  for (;;) {
    auto batch = fetch(kBatch + passed_over_.size());
    if (!batch) return std::move(batch).error();
    bool any = false;
    for (const Segment& segment : *batch) {
      if (passed_over_.contains(segment.id)) continue;
      if (!wanted(segment)) return base::ok();
      any = true;
      const Gone how = remove(segment, reason);
      if (how == Gone::no) {
        passed_over_.insert(segment.id);
      } else {
        gone(segment, how);
      }
    }
    if (!any) return base::ok();
  }
}

// Deletes file and entry inside one write of the catalog, so that a person who keeps the segment at this
// moment comes either before (it stays) or after (they are told that it is gone), never between. The file
// first: on a full disk the catalog may have no room to change before something is gone; an entry without a
// file is put right by the next round. Returns whether a file was deleted.
base::Result<bool> Round::remove_unless_kept(const Segment& segment) {
  const auto file = archive_ / segment.path;
  bool deleted = false;
  auto done = catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement query(db, "SELECT kept FROM segment WHERE id = ?");
    query.bind(1, segment.id);
    const bool known = query.executeStep();
    if ((known && query.getColumn(0).getInt() != 0) || has_kept_mark(file)) {
      return base::Error(base::ErrorCode::busy, segment.path, "it is kept");
    }
    auto removed = disk_.remove(file);
    if (!removed && removed.error().code != base::ErrorCode::not_found) return removed;
    deleted = removed.has_value();
    SQLite::Statement forget(db, "DELETE FROM segment WHERE id = ?");
    forget.bind(1, segment.id);
    forget.exec();
    return base::ok();
  });
  if (!done && !deleted) return std::move(done).error();
  if (!done) {
    base::log_error(segment.camera.text(), "retention: {} is deleted but still in the catalog: {}",
                    segment.path, done.error().text());
  }
  return deleted;
}

Gone Round::remove(const Segment& segment, std::string_view reason) {
  auto deleted = remove_unless_kept(segment);
  if (!deleted) {
    if (deleted.error().code != base::ErrorCode::busy) {
      base::log_error(segment.camera.text(), "retention: {}", deleted.error().text());
    }
    return Gone::no;
  }
  if (*deleted) {
    ++report_.removed;
    report_.bytes += segment.bytes;
    base::log_info(segment.camera.text(), "removed {} ({:.1f} MB): {}", segment.path,
                   base::megabytes(segment.bytes), reason);
  }
  std::error_code ignored;
  std::filesystem::remove((archive_ / segment.path).parent_path(),
                          ignored);  // the day's folder, when it is empty
  return *deleted ? Gone::with_file : Gone::entry_only;
}

// Of one camera's track. Nothing that ends later than `wanted_from`.
base::Result<void> remove_older(Round& round, const SegmentStore& store, const base::CameraName& camera,
                                std::chrono::hours age, base::WallTime now,
                                base::WallTime wanted_from = base::WallTime::max()) {
  const auto oldest = [&](std::size_t most) { return store.oldest_unkept(camera, most); };
  const auto limit = std::min(now - age, wanted_from);
  const auto too_old = [&](const Segment& segment) { return segment.end < limit; };
  const auto gone = [](const Segment&, Gone) {};
  return round.remove_while(oldest, too_old, gone, fmt::format("older than {} h", age.count()));
}

base::Result<void> apply_settings(Round& round, Catalog& catalog, const camera::Settings& settings,
                                  base::WallTime now) {
  if (settings.keep_for) {
    auto done = remove_older(round, round.store(), settings.name, *settings.keep_for, now);
    if (!done) return done;
  }
  auto jobs = JobStore(catalog).settings(settings.name);
  // The camera may have been removed since the list was read.
  if (!jobs && jobs.error().code != base::ErrorCode::not_found) return std::move(jobs).error();
  const std::chrono::hours keep_stills = jobs ? jobs->keep_stills : JobSettings{}.keep_stills;
  // Before its film is made a job's stills are no archive yet.
  const bool films = (jobs ? jobs->film : JobSettings{}.film).has_value();
  auto wanted_from = FilmStore(catalog).stills_wanted_from(settings.name, films);
  if (!wanted_from) return std::move(wanted_from).error();
  auto done = remove_older(round, SegmentStore(catalog, Track::stills), settings.name, keep_stills, now,
                           wanted_from->value_or(base::WallTime::max()));
  if (!done) return done;
  if (settings.keep_bytes) {
    auto have = round.store().bytes_of(settings.name);
    if (!have) return std::move(have).error();
    std::uint64_t left = *have;
    const auto too_much = [&](const Segment&) { return left > *settings.keep_bytes; };
    // An entry without a file is taken out of the sum as well.
    const auto gone = [&](const Segment& segment, Gone) { left -= std::min(left, segment.bytes); };
    const auto oldest = [&](std::size_t most) {
      return round.store().oldest_unkept_of_both(settings.name, most);
    };
    return round.remove_while(oldest, too_much, gone,
                              fmt::format("the camera may keep {} MB", *settings.keep_bytes / 1'000'000));
  }
  return base::ok();
}

base::Result<void> free_space(Round& round, std::uint64_t keep_free_bytes, std::uint64_t least_freed_bytes,
                              Disk& disk) {
  std::error_code failed;
  if (!std::filesystem::exists(round.archive(), failed)) return base::ok();
  auto space = disk.space(round.archive());
  if (!space) return std::move(space).error();
  const std::uint64_t goal = std::min(keep_free_bytes, space->total_bytes / 2);
  // Counted, not asked again: a file that somebody is playing frees its room only when it is closed.
  std::uint64_t free_bytes = space->free_bytes;
  const auto too_full = [&](const Segment&) {
    return free_bytes < goal || round.report().bytes < least_freed_bytes;
  };
  const auto gone = [&](const Segment& segment, Gone how) {
    if (how == Gone::with_file) free_bytes += segment.bytes;
  };
  const std::string reason = free_bytes < goal
                                 ? fmt::format("{} MB of the disk are kept free", goal / 1'000'000)
                                 : "the disk takes no more, though it says that it has room";
  auto done = round.remove_while([&](std::size_t most) { return round.store().oldest_unkept(most); },
                                 too_full, gone, reason);
  round.report().missing_bytes = goal - std::min(goal, free_bytes);
  return done;
}

}  // namespace

Retention::Retention(Catalog& catalog, const base::Clock& clock, Disk& disk, JobBounds bounds)
    : catalog_(catalog), clock_(clock), disk_(disk), bounds_(bounds) {}

base::Result<RetentionReport> Retention::run(std::uint64_t keep_free_bytes, std::uint64_t least_freed_bytes) {
  const std::lock_guard one_at_a_time(round_);
  auto age = look_at_clock();
  if (!age) return std::move(age).error();
  Round round{catalog_, disk_};
  auto cameras = CameraStore{catalog_}.list();
  if (!cameras) return std::move(cameras).error();
  for (const auto& settings : *cameras) {
    if (auto done = apply_settings(round, catalog_, settings, age->now()); !done)
      return std::move(done).error();
  }
  auto freed = free_space(round, keep_free_bytes, least_freed_bytes, disk_);
  // Beside the room that is needed now: what fails there must not say that none was made.
  if (const auto bounded = keep_to_bounds(catalog_, disk_, bounds_); !bounded)
    base::log_error("retention", "jobs and films stay: {}", bounded.error().text());
  const RetentionReport report = round.report();
  const bool missing = report.missing_bytes > 0;
  if (missing && !told_missing_) {
    base::log_warning(
        "retention",
        "{:.1f} MB less than wanted are free, and nothing more may be deleted: all else is kept, "
        "being written, or not Rookery's",
        base::megabytes(report.missing_bytes));
  }
  told_missing_ = missing;
  const std::lock_guard lock(mutex_);
  report_ = report;
  if (!freed) return std::move(freed).error();
  return report;
}

std::optional<AgeState> Retention::age() const {
  const std::lock_guard lock(mutex_);
  return seen_;
}

std::optional<RetentionReport> Retention::last_report() const {
  const std::lock_guard lock(mutex_);
  return report_;
}

base::Result<void> Retention::confirm_clock() {
  const base::WallTime wall = clock_.wall();
  if (auto confirmed = AgeStore{catalog_}.confirm(wall); !confirmed) return confirmed;
  const std::lock_guard lock(mutex_);
  if (seen_) seen_ = AgeState{wall, wall};
  return base::ok();
}

// The state goes on in memory, since on a full disk the catalog may not take it for a while.
base::Result<AgeState> Retention::look_at_clock() {
  AgeStore store{catalog_};
  auto stored = store.load();
  if (!stored) return std::move(stored).error();
  const base::WallTime wall = clock_.wall();
  const base::MonoTime mono = clock_.mono();
  if (*stored && state_ && (*stored)->confirmations != confirmations_) {
    base::log_info("retention", "the computer's clock was confirmed: ages count by {}",
                   base::to_rfc3339(wall));
    state_ = AgeState{wall, wall};
  } else if (state_) {
    state_ = advance(*state_, wall, std::chrono::duration_cast<base::Microseconds>(mono - looked_));
  } else if (*stored) {
    state_ = advance((*stored)->state, wall, std::nullopt);
  } else {
    auto first = store.first(wall);
    if (!first) return first;
    state_ = *first;
  }
  looked_ = mono;
  if (*stored) confirmations_ = (*stored)->confirmations;
  store.save_later(*state_);
  tell(*state_);
  const std::lock_guard lock(mutex_);
  seen_ = state_;
  return *state_;
}

void Retention::tell(const AgeState& state) {
  if (state.worth_saying() == told_clock_) return;
  told_clock_ = state.worth_saying();
  if (told_clock_) {
    base::log_warning("retention", "{}", explain(state).text());
  } else {
    base::log_info("retention", "the computer's clock is believed: ages count by it");
  }
}

}  // namespace rookery::archive
