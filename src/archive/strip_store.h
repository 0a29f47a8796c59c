// Strips: one camera's day as motion energy and health per 10 s, stored compactly.
#pragma once

#include <cstdint>
#include <vector>

#include "archive/catalog.h"
#include "base/name.h"

namespace rookery::archive {

// How a camera was in a step of 10 s.
enum class Health : std::uint8_t {
  none = 0,
  live = 1,
  rough = 2,
  down = 3
};  // none: not running; rough: rejected frames or gaps

inline constexpr std::chrono::seconds kStripStep{10};

struct StripStep {
  std::uint8_t energy = 0;  // 0–255, see vision/motion_energy.h for the scale
  Health health = Health::none;
  bool operator==(const StripStep&) const = default;
};

// Steps from `from` (a multiple of 10 s) on.
struct Strip {
  base::WallTime from;
  std::vector<StripStep> steps;
};

// any-thread. One blob a camera and hour (360 steps, 2 bytes each), so that a day is 24 rows.
class StripStore {
 public:
  explicit StripStore(Catalog& catalog) : catalog_(catalog) {}

  // Sets the step that holds `at`, later (Catalog::write_later); a later one for the same step replaces it.
  void put_later(const base::CameraName& camera, base::WallTime at, StripStep step);
  // The whole steps that cover [from, to]: 8640 for midnight to midnight, at least one. At most 31 days
  // (invalid_value beyond, or when `to` is before `from`). Steps never seen are {0, none}.
  base::Result<Strip> between(const base::CameraName& camera, base::WallTime from, base::WallTime to) const;

  // For use inside a transaction of the caller's (Catalog::write), as when the catalog is made anew.
  static void put(SQLite::Database& db, const base::CameraName& camera, const Strip& strip);
  // The same, but leaves the steps that are known already (health other than none) as they are.
  static void fill(SQLite::Database& db, const base::CameraName& camera, const Strip& strip);

 private:
  Catalog& catalog_;
};

}  // namespace rookery::archive
