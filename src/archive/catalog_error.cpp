#include "archive/catalog_error.h"

#include <cerrno>
#include <system_error>

#include <SQLiteCpp/SQLiteCpp.h>
#include <sqlite3.h>

#include "base/bytes.h"

namespace rookery::archive {
namespace {

// SQLite says "disk I/O error" when its shared-memory file finds no room, so the system's own word counts
// too. A connection that never opened has none: then the room that is left tells (SQLite's first write is a
// page and a 32 KiB shared-memory file).
bool is_disk_full(int code, SQLite::Database* db, const std::filesystem::path& home) {
  if (code == SQLITE_FULL) return true;
  if (code != SQLITE_IOERR && code != SQLITE_CANTOPEN) return false;
  const int system = db == nullptr ? 0 : sqlite3_system_errno(db->getHandle());
  if (system == ENOSPC || system == EDQUOT) return true;
  std::error_code failure;
  const auto space = std::filesystem::space(home, failure);
  return !failure && space.available < 64 * 1024;
}

// " (0.1 of 25.2 MB are free)"; empty when nobody knows.
std::string room_of(const std::filesystem::path& home) {
  std::error_code failure;
  const auto space = std::filesystem::space(home, failure);
  if (failure) return {};
  return fmt::format(" ({:.1f} of {:.1f} MB are free)", base::megabytes(space.available),
                     base::megabytes(space.capacity));
}

}  // namespace

base::Error catalog_error(const SQLite::Exception& failure, SQLite::Database* db,
                          const std::filesystem::path& home, std::string where) {
  using base::ErrorCode;
  const int code = failure.getErrorCode();
  const std::string said = fmt::format("{}: {}", (home / "catalog.db").string(), failure.what());
  if (is_disk_full(code, db, home)) {
    return {
        ErrorCode::disk_full, std::move(where),
        fmt::format("no space left on the disk of {}{}", home.string(), room_of(home)),
        "Let go of kept recordings, let retention keep less, or delete other files there; `rookery archive "
        "state` shows what takes the room."};
  }
  switch (code) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return {ErrorCode::busy, std::move(where), "another process has held the catalog for more than 5 s",
              "Try again; if it stays so, look for a second rookery or a database tool on catalog.db."};
    case SQLITE_CORRUPT:
    case SQLITE_NOTADB:
      return {
          ErrorCode::damaged, std::move(where), said,
          "Make the catalog anew from the recordings with `rookery archive rebuild`; the damaged file is set "
          "aside, not deleted."};
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_AUTH:
    case SQLITE_CANTOPEN:
      return {ErrorCode::no_permission, std::move(where), said,
              "Let the user that runs rookery write in the home folder, and see that the disk is not mounted "
              "read-only."};
    default:
      return {ErrorCode::io, std::move(where), said, "Check the disk and its cable; see the system log."};
  }
}

bool may_pass(const base::Error& error) {
  switch (error.code) {
    case base::ErrorCode::disk_full:
    case base::ErrorCode::busy:
    case base::ErrorCode::no_permission:
    case base::ErrorCode::io:
      return true;
    default:
      return false;
  }
}

}  // namespace rookery::archive
