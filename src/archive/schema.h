// The catalog's tables, and how an older catalog becomes a current one. docs/formats/catalog.md explains
// them.
#pragma once

#include <cstdint>

#include "base/result.h"

namespace SQLite {
class Database;
}

namespace rookery::archive::schema {

// "Rook" in ASCII: what makes a SQLite file a catalog of ours (PRAGMA application_id).
inline constexpr std::int32_t kApplicationId = 0x526f6f6b;
// What this program writes (PRAGMA user_version).
inline constexpr std::int32_t kVersion = 9;

// What a file turned out to be, by its two numbers and its list of tables alone.
enum class Kind {
  fresh,    // no table yet
  current,  // ours, of this version
  older,    // ours, to be brought up to date
  newer,    // ours, made by a later program
  foreign,  // a SQLite file of another program
};
Kind kind_of(SQLite::Database& db);

// Makes or brings up to date what `db` holds, in one transaction; safe when two processes do it at once.
// up_to: tests make what earlier programs made. Errors: newer_version, damaged. SQLite's own failures come as
// SQLite::Exception.
base::Result<void> bring_up(SQLite::Database& db, int up_to = kVersion);

// Whether every table can be read; looks at one row of each, so its time does not grow with the catalog.
// Errors: damaged.
base::Result<void> look_over(SQLite::Database& db);

}  // namespace rookery::archive::schema
