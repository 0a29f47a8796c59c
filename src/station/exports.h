// Exports and lapses under way and finished: started by a person, worked off one after another, fetched as a
// file.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "archive/disk.h"
#include "archive/export.h"
#include "archive/lapse.h"
#include "base/time.h"

namespace rookery::station {

enum class ExportState { waiting, working, done, failed, cancelled };

struct ExportView {
  std::string id;                              // random, not guessable
  std::int64_t person = 0;                     // who asked
  archive::ExportRequest request;              // camera and span; for a lapse nothing else counts
  std::optional<archive::LapseRequest> lapse;  // a film of the span, not the span itself
  ExportState state = ExportState::waiting;
  double progress = 0;  // 0–1
  std::optional<archive::ExportResult> result;
  std::optional<archive::LapseResult> lapse_result;  // what it tells of a lapse beyond that
  std::optional<base::Error> error;
  std::filesystem::path file;  // when done
  std::string file_name;       // to offer to the person: "anvil 2026-03-01 12.00.00Z.mkv"

  ExportView(std::string id_, std::int64_t person_, archive::ExportRequest request_)
      : id(std::move(id_)), person(person_), request(std::move(request_)) {}
};

struct ExportLimits {
  std::uint64_t most_bytes = 4ull << 30;  // of all exports together
  // As for retention. Exports leave half of that free: the recordings go on in it until retention has made
  // room.
  std::uint64_t keep_free_bytes = 0;
  // How often those that have been there for a day are looked for; a test shortens it.
  std::chrono::milliseconds look_every{60'000};
};

// any-thread. One export at a time, in a thread of its own that yields to all others; files lie in
// <home>/exports and are removed a day after they were asked for, with who asked, and the oldest finished
// first when a new one needs their room. At most 20 wait, 5 of one person; of each person, 8 finished ones
// are kept ready.
//
// All of it is stored before start() returns. What waits or is under way when the station stops is made by
// the next start, from its beginning: a half-written file is thrown away. One during which the station ended
// without a stop kMostBegun times has failed: it may be what ends it.
class Exports {
 public:
  static constexpr int kMostBegun = 3;

  // Goes on where the last run ended. `catalog`, `clock` and `disk` are borrowed and outlive it.
  Exports(archive::Catalog& catalog, const base::Clock& clock, ExportLimits limits,
          archive::Disk& disk = archive::real_disk());
  // What is under way is left for the next start.
  ~Exports();
  // It ends soon then; the destructor waits for it.
  void ask_to_stop();

  // Errors: busy; not_found (no such person); those of archive::ExportStore; too_large and disk_full when it
  // cannot fit even with all finished ones gone (with the numbers). What turns out too large while it is
  // written fails with the same errors.
  base::Result<ExportView> start(std::int64_t person, archive::ExportRequest request);
  // A film of the request's camera and span. Errors: the same.
  base::Result<ExportView> start_lapse(std::int64_t person, archive::ExportRequest span,
                                       archive::LapseRequest lapse);
  base::Result<ExportView> find(const std::string& id) const;  // not_found
  // Those of one person, the newest first.
  std::vector<ExportView> of(std::int64_t person) const;
  base::Result<void> remove(const std::string& id);  // cancels; not_found
  // What the finished ones and the one under way take on the disk.
  std::uint64_t bytes() const;
  const ExportLimits& limits() const&;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace rookery::station
