// Vitals by the minute, for 400 days: well under 2 MiB a camera and year.
#pragma once

#include <optional>
#include <utility>
#include <vector>

#include "archive/catalog.h"
#include "base/name.h"
#include "camera/vitals.h"

namespace rookery::archive {

// Steps of one length from `from` on; none where nothing was measured.
struct VitalsSeries {
  base::WallTime from;
  base::Seconds step{};
  std::vector<std::optional<camera::Vitals>> steps;
};

// any-thread. Minutes of days under way are rows of their own, all cameras' together, so that little is
// written; days that are over are packed, a blob a camera and day (docs/formats/vitals.md).
class VitalsStore {
 public:
  static constexpr std::chrono::days kKeptFor{400};
  // Of one answer. A longer span is told in longer steps.
  static constexpr std::size_t kMostSteps = 1500;

  explicit VitalsStore(Catalog& catalog) : catalog_(catalog) {}

  using Minutes = std::vector<std::pair<base::CameraName, camera::Vitals>>;
  // The minute that began at `at` (a whole minute), later (Catalog::write_later). One that is there already
  // stays: a clock that was set back measures a minute twice.
  void put_later(base::WallTime at, Minutes minutes);
  // [from, to) in the shortest steps of 1, 5, 15, 30 min, 1, 3, 6, 12 or 24 h that are at most kMostSteps.
  // Errors: invalid_value (to is not after from, or longer than kKeptFor and a day), damaged.
  base::Result<VitalsSeries> between(const base::CameraName& camera, base::WallTime from,
                                     base::WallTime to) const;
  // Packs the days that ended before `now`, and forgets what is older than kKeptFor. Blocks; cheap when there
  // is nothing to do. A day that comes late (a clock set back) is joined with what is packed of it.
  base::Result<void> pack(base::WallTime now);

 private:
  Catalog& catalog_;
};

}  // namespace rookery::archive
