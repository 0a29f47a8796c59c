// What each camera's motion detector has learned, in the catalog, so that a restart causes no event.
#pragma once

#include <optional>
#include <vector>

#include "archive/catalog.h"
#include "base/name.h"

namespace rookery::archive {

// any-thread.
class MotionStateStore {
 public:
  explicit MotionStateStore(Catalog& catalog) : catalog_(catalog) {}

  // state: what vision::MotionDetector::save gives. Later (Catalog::write_later).
  void put_later(const base::CameraName& camera, std::vector<std::byte> state, base::WallTime at);
  // Nothing: none was saved.
  base::Result<std::optional<std::vector<std::byte>>> find(const base::CameraName& camera) const;

 private:
  Catalog& catalog_;
};

}  // namespace rookery::archive
