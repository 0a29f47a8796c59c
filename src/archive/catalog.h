// The catalog: one SQLite file that says which cameras, people, segments and strips there are.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>

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
  // Opens or makes it, and brings an older schema up to date. Errors: no_permission (home not writable),
  // disk_full, newer_version (made by a later program; nothing is touched), damaged (with the remedy `rookery
  // archive rebuild`).
  static base::Result<std::unique_ptr<Catalog>> open(const std::filesystem::path& home);
  ~Catalog();  // finishes queued writes
  Catalog(const Catalog&) = delete;
  Catalog& operator=(const Catalog&) = delete;

  // Runs `work` inside one transaction; commits when it returns ok, rolls back when it returns an error or
  // SQLite throws (which becomes an Error: disk_full, busy, damaged, io).
  base::Result<void> write(const std::function<base::Result<void>(SQLite::Database&)>& work);

  // Queues `work` for the catalog's thread; queued works share transactions (at most ~200 ms old). A failure
  // is logged and counted, and the same work is tried again while the disk is full. Never blocks.
  void write_later(std::function<void(SQLite::Database&)> work);

  // Returns when everything queued before has been committed or given up.
  void flush();

  // Runs `work` on a read connection.
  base::Result<void> read(const std::function<base::Result<void>(SQLite::Database&)>& work) const;

  // A number that changes whenever another process (or this one) changed cameras, people or tokens. Cheap: a
  // station asks once a second.
  std::int64_t settings_version() const;

  const std::filesystem::path& home() const;

 private:
  Catalog();
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace rookery::archive
