// Retention: what is deleted, in which order, and why. Deleting of recordings happens here and nowhere else.
#pragma once

#include <cstdint>
#include <filesystem>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "archive/age_clock.h"
#include "archive/catalog.h"
#include "archive/disk.h"

namespace rookery::archive {

struct RetentionReport {
  std::size_t removed = 0;
  std::uint64_t bytes = 0;
  std::uint64_t missing_bytes = 0;  // of what should be free, when nothing more may go
};

// How much stays of what cameras' jobs left behind, beside what a person judged good.
struct JobBounds {
  std::size_t most_each = 2'000;                  // jobs that are over, of one camera
  std::optional<std::uint64_t> films_bytes = {};  // of all films together; none: a tenth of the disk
};

// any-thread. One round at a time: whoever asks for another meanwhile waits, and then finds what the first
// has left.
class Retention {
 public:
  // All are borrowed and outlive it.
  Retention(Catalog& catalog, const base::Clock& clock, Disk& disk = real_disk(), JobBounds bounds = {});

  // One round: by age and bytes of each camera (its jobs' stills by an age of their own, and none by age
  // since the start of a job whose film is to be made), then oldest first until `keep_free_bytes` of the disk
  // are free; at last the oldest jobs and films beyond their bounds, some of them each round. Never a kept
  // segment (in the catalog, or by a mark beside its file), never an open one. Every removal is logged with
  // its reason. keep_free_bytes counts as half of the disk at most: a setting for a large disk must not empty
  // a small one. Ages are counted by the age clock, never by a clock that ran ahead. Errors: what the catalog
  // says; a file that cannot be deleted is logged, passed over, and counts as not freed. `least_freed_bytes`:
  // goes on until so much was deleted in this round, whatever the disk says is free: a quota or a lack of
  // inodes shows only in what it refuses.
  base::Result<RetentionReport> run(std::uint64_t keep_free_bytes, std::uint64_t least_freed_bytes = 0);

  // As of the last round; none before the first.
  std::optional<AgeState> age() const;
  std::optional<RetentionReport> last_report() const;
  // A person says that the computer's clock is right: ages count by it from the next round on. Errors: as
  // Catalog::write.
  base::Result<void> confirm_clock();

 private:
  base::Result<AgeState> look_at_clock();
  void tell(const AgeState& state);

  Catalog& catalog_;
  const base::Clock& clock_;
  Disk& disk_;
  const JobBounds bounds_;

  std::mutex round_;  // held through a round; guards the next four
  std::optional<AgeState> state_;
  base::MonoTime looked_;
  std::int64_t confirmations_ = 0;
  bool told_clock_ = false;
  bool told_missing_ = false;

  mutable std::mutex mutex_;  // guards what others ask for
  std::optional<AgeState> seen_;
  std::optional<RetentionReport> report_;
};

// Where the disk has no room even for what retention has to write into the catalog: deletes the oldest
// segments that have no mark beside them, as the files' names tell, until `wanted_bytes` (at most an eighth
// of the disk) of them are gone or none is left. Never a file that somebody writes. Every removal is logged.
// Returns the paths, below the archive, of those that went; forgetting their entries is the caller's affair.
// `home` is locked by the caller (HomeLock).
std::vector<std::string> remove_oldest_files(const std::filesystem::path& home, std::uint64_t wanted_bytes,
                                             Disk& disk = real_disk());

}  // namespace rookery::archive
