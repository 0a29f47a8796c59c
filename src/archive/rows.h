// What the stores share: how values stand in the catalog's columns.
#pragma once

#include <cstdint>
#include <optional>

#include "base/name.h"
#include "base/time.h"

namespace SQLite {
class Database;
}

namespace rookery::archive::rows {

// Microseconds since 1970-01-01 UTC, and back.
inline std::int64_t micros(base::WallTime time) { return time.time_since_epoch().count(); }
inline base::WallTime wall(std::int64_t micros_since_epoch) {
  return base::WallTime{base::Microseconds{micros_since_epoch}};
}

// SQLite holds 63 bits: larger counts stand as the largest.
inline std::int64_t stored(std::uint64_t count) {
  return static_cast<std::int64_t>(count > INT64_MAX ? static_cast<std::uint64_t>(INT64_MAX) : count);
}

// The row of `recorded` for a camera. `make_` makes it when it is missing, inside the running transaction.
std::optional<std::int64_t> find_recorded(SQLite::Database& db, const base::CameraName& camera);
std::int64_t make_recorded(SQLite::Database& db, const base::CameraName& camera);

}  // namespace rookery::archive::rows
