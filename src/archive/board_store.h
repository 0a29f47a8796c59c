// What is known of each camera's board, to know it again: in the catalog, beside the camera's settings.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "archive/catalog.h"
#include "camera/identity.h"

namespace rookery::archive {

// A board's address was another one than the camera's settings said, and the settings followed.
struct BoardMove {
  std::string from;
  std::string to;
  base::WallTime at;
  bool operator==(const BoardMove&) const = default;
};

struct StoredBoard {
  base::CameraName camera;
  std::string host;  // of the camera's settings when this was learned: others since then, and it says nothing
  camera::BoardEvidence evidence;
  base::WallTime seen{};
  std::optional<BoardMove> moved;  // the last time

  explicit StoredBoard(base::CameraName camera_) : camera(std::move(camera_)) {}
  bool operator==(const StoredBoard&) const = default;
};

// any-thread.
class BoardStore {
 public:
  explicit BoardStore(Catalog& catalog) : catalog_(catalog) {}

  // Puts it in the place of what was known of this camera's board. Errors: not_found (no such camera).
  base::Result<void> put(const StoredBoard& board);
  // In the order of the cameras.
  base::Result<std::vector<StoredBoard>> list() const;
  // The cameras that pull from a board, with what is known of it. Errors: those of list().
  base::Result<std::vector<camera::KnownBoard>> known(const std::vector<camera::Settings>& cameras) const;

 private:
  Catalog& catalog_;
};

}  // namespace rookery::archive
