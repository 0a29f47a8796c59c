// Exports under way and finished: started by a person, worked off one after another, fetched as a file.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "archive/export.h"
#include "base/time.h"

namespace rookery::station {

enum class ExportState { waiting, working, done, failed, cancelled };

struct ExportView {
  std::string id;           // random, not guessable
  std::int64_t person = 0;  // who asked
  archive::ExportRequest request;
  ExportState state = ExportState::waiting;
  double progress = 0;  // 0–1
  std::optional<archive::ExportResult> result;
  std::optional<base::Error> error;
  std::filesystem::path file;  // when done
  std::string file_name;       // to offer to the person: "anvil 2026-03-01 12.00.00Z.mkv"

  ExportView(std::string id_, std::int64_t person_, archive::ExportRequest request_)
      : id(std::move(id_)), person(person_), request(std::move(request_)) {}
};

// any-thread. One export at a time, in a thread of its own; files lie in <home>/exports and are removed a day
// later, at stop and at start. At most 20 wait.
class Exports {
 public:
  Exports(archive::Catalog& catalog, const base::Clock& clock);
  ~Exports();  // cancels

  base::Result<ExportView> start(std::int64_t person, archive::ExportRequest request);  // busy
  base::Result<ExportView> find(const std::string& id) const;                           // not_found
  base::Result<void> remove(const std::string& id);                                     // cancels; not_found

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace rookery::station
