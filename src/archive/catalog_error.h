// What a failure of SQLite means to a person.
#pragma once

#include <filesystem>
#include <string>

#include "base/result.h"

namespace SQLite {
class Database;
class Exception;
}  // namespace SQLite

namespace rookery::archive {

// disk_full, busy, damaged, no_permission or io, with a remedy. `db` is the connection that failed, null when
// it never opened; `where` says what was being done.
base::Error catalog_error(const SQLite::Exception& failure, SQLite::Database* db,
                          const std::filesystem::path& home, std::string where);

// Whether the same work may succeed later without anybody changing the program: the disk may get room,
// another process may let go.
bool may_pass(const base::Error& error);

}  // namespace rookery::archive
