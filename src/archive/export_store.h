// Exports and lapses that people asked for, in the catalog: to be made, also after a restart; made; or why
// not. Their files lie in <home>/exports.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "archive/catalog.h"
#include "archive/export.h"
#include "archive/lapse.h"
#include "base/result.h"
#include "base/time.h"

namespace rookery::archive {

struct StoredExport {
  std::string id;           // random, not guessable
  std::int64_t person = 0;  // who asked; goes with the person
  base::WallTime asked;
  ExportRequest request;              // camera and span; for a lapse nothing else counts
  std::optional<LapseRequest> lapse;  // a film of the span, not the span itself
  // How often it was begun and neither came to an end nor was put back: the program ended meanwhile.
  int begun = 0;
  // What became of it; none of them: it is to be made.
  std::optional<ExportResult> result;
  std::optional<LapseResult> lapse_result;  // beside `result`; without what only its making knows
  std::optional<base::Error> error;

  StoredExport(std::string id_, std::int64_t person_, base::WallTime asked_, ExportRequest request_)
      : id(std::move(id_)), person(person_), asked(asked_), request(std::move(request_)) {}
  bool is_wanted() const { return !result && !error; }
};

// any-thread. Errors: those of Catalog::write and read.
class ExportStore {
 public:
  explicit ExportStore(Catalog& catalog) : catalog_(catalog) {}

  // As wanted. Errors: not_found (no such person).
  base::Result<void> add(const StoredExport& one);
  // These change nothing where there is no such export any more.
  base::Result<void> note_begun(const std::string& id);
  base::Result<void> put_back(const std::string& id);  // begun, and left alone in good order
  base::Result<void> note_made(const std::string& id, const ExportResult& result,
                               const std::optional<LapseResult>& lapse);
  base::Result<void> note_failed(const std::string& id, const base::Error& error);
  void forget_later(const std::string& id);

  // In the order in which they were asked for. One that cannot be read is left out, and said in the log.
  base::Result<std::vector<StoredExport>> all() const;

 private:
  Catalog& catalog_;
};

}  // namespace rookery::archive
