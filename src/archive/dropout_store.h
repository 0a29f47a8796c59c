// Which dropouts there were, with what was told of them, in the catalog.
#pragma once

#include <optional>
#include <vector>

#include "archive/catalog.h"
#include "base/name.h"
#include "camera/causes.h"

namespace rookery::archive {

// One dropout, told. Times are wall clock.
struct Dropout {
  base::CameraName camera;
  base::WallTime began;                // its last picture before
  std::optional<base::WallTime> back;  // none: not back when this was told
  camera::Ranking ranking;
  // For the ranking of later ones (camera::PastDropout).
  double streamed_for_s = 0;
  std::optional<double> uptime_before_s;
  std::optional<double> booted_after_s;

  explicit Dropout(base::CameraName camera_) : camera(std::move(camera_)) {}
};

// What the dropouts of a span have in common.
struct DropoutSummary {
  int days = 30;
  int dropouts = 0;
  std::array<int, camera::kCauses> named{};  // by camera::Cause
  int restarted = 0;                         // of those without a named cause: the board restarted
  int unclear = 0;                           // not enough to tell
  // "In the last 30 days: 14 dropouts, 9 supply, 2 radio; 3 not told".
  std::string text() const;
};

// any-thread.
class DropoutStore {
 public:
  static constexpr std::size_t kMostOfOne = 500;  // of one camera; the oldest go
  static constexpr std::chrono::days kKept{90};

  explicit DropoutStore(Catalog& catalog) : catalog_(catalog) {}

  // Adds it, or takes the place of what was told of it before (same camera and beginning). Later
  // (Catalog::write_later).
  void put_later(const Dropout& dropout);

  // The newest first, those that began before `before`; at most `limit`.
  base::Result<std::vector<Dropout>> list(const base::CameraName& camera, std::size_t limit,
                                          std::optional<base::WallTime> before = std::nullopt) const;
  base::Result<DropoutSummary> summary(const base::CameraName& camera, base::WallTime now,
                                       int days = 30) const;
  // What the ranking remembers: of the last 30 days, at most 100.
  base::Result<std::vector<camera::PastDropout>> past(const base::CameraName& camera,
                                                      base::WallTime now) const;

 private:
  Catalog& catalog_;
};

}  // namespace rookery::archive
