// The catalog: one SQLite file that says which cameras, people, segments and strips there are.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <string>

#include "base/result.h"
#include "base/time.h"

namespace SQLite {
class Database;
}

namespace rookery::archive {

// <home>/catalog.db in WAL mode. Several processes may have it open at once (the command line works beside a
// running station): each write is one short transaction, waits up to 5 s for another writer, and says `busy`
// after that.
//
// any-thread. Reads run in the caller's thread on a pooled connection; writes run one after another, in the
// caller's thread through `write`, or later on the catalog's own thread through `write_later` for what a
// frame's way must not wait for (segments grow, strips). The stores (camera_store.h, people_store.h,
// segment_store.h, strip_store.h, …) are thin classes over this one.
class Catalog {
 public:
  // Opens or makes it (home with mode 0700, catalog.db with 0600), and brings an older schema up to date.
  // Takes the same time for a large catalog as for a small one. Errors: no_permission (home not writable),
  // invalid_value (home is a file), disk_full, busy, newer_version (made by a later program; nothing is
  // changed), damaged (with the remedy `rookery archive rebuild`; nothing is changed).
  static base::Result<std::unique_ptr<Catalog>> open(const std::filesystem::path& home);
  ~Catalog();  // finishes queued writes
  Catalog(const Catalog&) = delete;
  Catalog& operator=(const Catalog&) = delete;

  // Runs `work` inside one transaction; commits when it returns ok, rolls back when it returns an error or
  // SQLite throws (which becomes an Error: disk_full, busy, damaged, no_permission, io). When it returns ok,
  // the change is on disk. `work` must not call write or flush itself: that would wait for itself.
  base::Result<void> write(const std::function<base::Result<void>(SQLite::Database&)>& work);

  // Queues `work` for the catalog's thread; queued works share transactions (at most ~200 ms old), in the
  // order in which they came. Never blocks. While the disk is full, not reachable or held by another process,
  // the same work is tried again every second: it may run more than once, its earlier changes having been
  // rolled back. A work that fails for another reason is given up alone; so is what comes while 100 000 are
  // waiting. What is given up is counted and logged.
  void write_later(std::function<void(SQLite::Database&)> work);
  // The same, but takes the place of a waiting work with the same key: for values of which only the newest
  // matters, so that a full disk does not pile them up.
  void write_later(std::string key, std::function<void(SQLite::Database&)> work);

  // Returns when everything queued before has been committed or given up: true; or when an attempt has failed
  // and will be repeated: false.
  bool flush();

  // What became of queued works since the catalog was opened. Always: those queued = committed + replaced +
  // given_up + waiting.
  struct LateCounters {
    std::uint64_t committed = 0;
    std::uint64_t replaced = 0;  // by a newer work with the same key
    std::uint64_t given_up = 0;
    std::uint64_t waiting = 0;
  };
  LateCounters late_counters() const;

  // Runs `work` on a read connection, in one read transaction: all its queries see the same state. Errors: as
  // `write`.
  base::Result<void> read(const std::function<base::Result<void>(SQLite::Database&)>& work) const;

  // A number that changes whenever another process (or this one) changed cameras, people or tokens. Cheap: a
  // station asks once a second.
  std::int64_t settings_version() const;

  // Reads the whole file through for damage; its time grows with the catalog. Errors: damaged.
  base::Result<void> check() const;

  const std::filesystem::path& home() const&;
  const std::filesystem::path& home() const&& = delete;

 private:
  Catalog();
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace rookery::archive
