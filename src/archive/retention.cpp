// run_retention: what is deleted, in which order, and why.
#include <SQLiteCpp/SQLiteCpp.h>

#include <set>

#include "archive/camera_store.h"
#include "archive/segment_path.h"
#include "archive/upkeep.h"
#include "base/log.h"

namespace rookery::archive {
namespace {

// So many entries are fetched at once.
constexpr std::size_t kBatch = 64;

class Round {
 public:
  Round(Catalog& catalog, Disk& disk)
      : catalog_(catalog), disk_(disk), store_(catalog), archive_(archive_folder(catalog.home())) {}

  using Fetch = std::function<base::Result<std::vector<Segment>>(std::size_t most)>;
  // Removes what `fetch` gives, oldest first, as long as `wanted` says so.
  base::Result<void> remove_while(const Fetch& fetch, const std::function<bool(const Segment&)>& wanted,
                                  std::string_view reason);

  const RetentionReport& report() const { return report_; }
  SegmentStore& store() { return store_; }
  const std::filesystem::path& archive() const { return archive_; }

 private:
  bool remove(const Segment& segment, std::string_view reason);
  base::Result<bool> remove_unless_kept(const Segment& segment);

  Catalog& catalog_;
  Disk& disk_;
  SegmentStore store_;
  const std::filesystem::path archive_;
  RetentionReport report_;
  std::set<std::int64_t> passed_over_;  // not to be removed, for whatever reason
};

base::Result<void> Round::remove_while(const Fetch& fetch, const std::function<bool(const Segment&)>& wanted,
                                       std::string_view reason) {
  for (;;) {
    auto batch = fetch(kBatch + passed_over_.size());
    if (!batch) return std::move(batch).error();
    bool any = false;
    for (const Segment& segment : *batch) {
      if (passed_over_.contains(segment.id)) continue;
      if (!wanted(segment)) return base::ok();
      any = true;
      if (!remove(segment, reason)) passed_over_.insert(segment.id);
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

bool Round::remove(const Segment& segment, std::string_view reason) {
  auto deleted = remove_unless_kept(segment);
  if (!deleted) {
    if (deleted.error().code != base::ErrorCode::busy) {
      base::log_error(segment.camera.text(), "retention: {}", deleted.error().text());
    }
    return false;
  }
  if (*deleted) {
    ++report_.removed;
    report_.bytes += segment.bytes;
    base::log_info(segment.camera.text(), "removed {} ({:.1f} MB): {}", segment.path,
                   static_cast<double>(segment.bytes) / 1e6, reason);
  }
  std::error_code ignored;
  std::filesystem::remove((archive_ / segment.path).parent_path(),
                          ignored);  // the day's folder, when it is empty
  return true;
}

base::Result<void> apply_settings(Round& round, const camera::Settings& settings, base::WallTime now) {
  const auto oldest = [&](std::size_t most) { return round.store().oldest_unkept(settings.name, most); };
  if (settings.keep_for) {
    const auto limit = now - *settings.keep_for;
    const auto too_old = [&](const Segment& segment) { return segment.end < limit; };
    auto done =
        round.remove_while(oldest, too_old, fmt::format("older than {} h", settings.keep_for->count()));
    if (!done) return done;
  }
  if (settings.keep_bytes) {
    auto have = round.store().bytes_of(settings.name);
    if (!have) return std::move(have).error();
    std::uint64_t left = *have;
    const auto too_much = [&](const Segment& segment) {
      if (left <= *settings.keep_bytes) return false;
      left -= std::min(left, segment.bytes);
      return true;
    };
    return round.remove_while(oldest, too_much,
                              fmt::format("the camera may keep {} MB", *settings.keep_bytes / 1'000'000));
  }
  return base::ok();
}

}  // namespace

base::Result<RetentionReport> run_retention(Catalog& catalog, std::uint64_t keep_free_bytes,
                                            const base::Clock& clock, Disk& disk) {
  Round round{catalog, disk};
  auto cameras = CameraStore{catalog}.list();
  if (!cameras) return std::move(cameras).error();
  for (const auto& settings : *cameras) {
    if (auto done = apply_settings(round, settings, clock.wall()); !done) return std::move(done).error();
  }
  std::error_code failed;
  if (!std::filesystem::exists(round.archive(), failed)) return round.report();
  auto space = disk.space(round.archive());
  if (!space) return std::move(space).error();
  const std::uint64_t goal = std::min(keep_free_bytes, space->total_bytes / 2);
  // Counted, not asked again: a file that somebody is playing frees its room only when it is closed.
  std::uint64_t free_bytes = space->free_bytes;
  const auto too_full = [&](const Segment& segment) {
    if (free_bytes >= goal) return false;
    free_bytes += segment.bytes;
    return true;
  };
  auto done = round.remove_while([&](std::size_t most) { return round.store().oldest_unkept(most); },
                                 too_full, fmt::format("{} MB of the disk are kept free", goal / 1'000'000));
  if (!done) return std::move(done).error();
  return round.report();
}

}  // namespace rookery::archive
