// Films: makes the films of jobs that are over, one after another, behind everything else.
#pragma once

#include <memory>
#include <optional>

#include "archive/disk.h"
#include "archive/film_store.h"
#include "archive/job_store.h"
#include "archive/retention.h"
#include "base/time.h"

namespace rookery::station {

struct FilmLimits {
  std::chrono::milliseconds look_every{10'000};  // for films that are wanted, and those that are too old
  std::uint64_t keep_free_bytes = 1ull << 30;    // half of it stays free, as for exports
};

// any-thread. One thread, of the lowest priority but idle. A film that is under way when the station stops
// stays wanted, and is begun anew by the next start; so is one for which the disk has no room, until it has.
// One whose making broke off kMostBegun times without a stop has failed: it may be what ends the program.
// Films go with the stills: JobSettings::keep_stills after they were made, by retention's age clock, and not
// before its first round; and with their job (JobStore::remove). A film of a job that the catalog does not
// know is moved to <home>/films/aside and stays.
class Films {
 public:
  static constexpr int kMostBegun = 3;

  // All are borrowed and outlive it.
  Films(archive::Catalog& catalog, const base::Clock& clock, const archive::Retention& retention,
        FilmLimits limits, archive::Disk& disk = archive::real_disk());
  ~Films();  // stop()
  Films(const Films&) = delete;
  Films& operator=(const Films&) = delete;

  void start();
  void stop();
  // Something is wanted.
  void wake();
  // 0 to 1 of the one under way; nothing for any other.
  std::optional<double> progress(std::int64_t job) const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace rookery::station
