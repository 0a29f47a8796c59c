// Receivers and rules, in the catalog.
#pragma once

#include <optional>
#include <vector>

#include "archive/catalog.h"
#include "notices/receiver.h"
#include "notices/rule.h"

namespace rookery::notices {

// any-thread. All changes are checked first. Errors beside those named: those of Catalog::write;
// invalid_value; already_exists (the name is taken); not_found.
class NoticeStore {
 public:
  static constexpr std::size_t kMostReceivers = 50;
  static constexpr std::size_t kMostRules = 200;

  explicit NoticeStore(archive::Catalog& catalog) : catalog_(catalog) {}

  // In the order in which they were added. A secret that the station's key does not open is left empty, and
  // said in the log.
  base::Result<std::vector<Receiver>> receivers() const;
  base::Result<Receiver> receiver(std::int64_t id) const;
  // Returns it with its id. Errors: too_large (kMostReceivers).
  base::Result<Receiver> add(const Receiver& receiver);
  // keep_secret: the one that is stored stays.
  base::Result<void> set(const Receiver& receiver, bool keep_secret);
  // Its notices go with it.
  base::Result<void> remove_receiver(std::int64_t id);

  base::Result<std::vector<Rule>> rules() const;
  base::Result<Rule> rule(std::int64_t id) const;
  base::Result<Rule> add(const Rule& rule);  // Errors: too_large (kMostRules)
  base::Result<void> set(const Rule& rule);
  base::Result<void> remove_rule(std::int64_t id);

  // No notices at all until then; nothing: as the rules say.
  base::Result<std::optional<base::WallTime>> snoozed_until() const;
  base::Result<void> snooze(std::optional<base::WallTime> until);

 private:
  archive::Catalog& catalog_;
};

}  // namespace rookery::notices
