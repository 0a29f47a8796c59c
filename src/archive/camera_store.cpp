#include "archive/camera_store.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <sqlite3.h>

#include "archive/secret_box.h"
#include "base/log.h"
#include "camera/check.h"

namespace rookery::archive {
namespace {

using camera::Settings;
using camera::Source;

const char* word_of(Source source) {
  switch (source) {
    case Source::stream:
      return "stream";
    case Source::stills:
      return "stills";
    case Source::pushed:
      return "pushed";
  }
  return "stream";
}

Source source_of(const std::string& word) {
  if (word == "stills") return Source::stills;
  return word == "pushed" ? Source::pushed : Source::stream;
}

base::Error no_such_camera(const base::CameraName& name) {
  return {base::ErrorCode::not_found, name.text(), "there is no camera of that name",
          "`rookery camera list` shows those there are."};
}

// Sealed; empty when there is no password.
base::Result<std::string> seal_password(const Catalog& catalog, const Settings& settings) {
  if (settings.password.empty()) return std::string();
  auto box = SecretBox::make_or_open(catalog.home());
  if (!box) return box.error();
  return box->seal(settings.password);
}

template <class T>
void bind_optional(SQLite::Statement& statement, int index, const std::optional<T>& value) {
  if (value) {
    statement.bind(index, *value);
  } else {
    statement.bind(index);
  }
}

// Parameters 1 to 12, as both kInsert and kUpdate name them; the name is the last.
void bind_settings(SQLite::Statement& statement, const Settings& settings, const std::string& sealed) {
  statement.bind(1, settings.title);
  statement.bind(2, word_of(settings.source));
  statement.bind(3, settings.stream_address);
  statement.bind(4, settings.still_address);
  statement.bind(5, settings.user);
  if (!sealed.empty()) statement.bind(6, sealed.data(), static_cast<int>(sealed.size()));
  statement.bind(7, static_cast<std::int64_t>(settings.poll_every.count()));
  statement.bind(8, settings.enabled ? 1 : 0);
  statement.bind(9, settings.recording ? 1 : 0);
  std::optional<std::int64_t> hours, bytes;
  if (settings.keep_for) hours = settings.keep_for->count();
  if (settings.keep_bytes) bytes = static_cast<std::int64_t>(*settings.keep_bytes);
  bind_optional(statement, 10, hours);
  bind_optional(statement, 11, bytes);
  statement.bind(12, settings.name.text());
}

constexpr const char* kInsert =
    "INSERT INTO camera(title, source, stream_address, still_address, user, password, poll_every_ms, enabled,"
    " recording, keep_for_h, keep_bytes, name, position)"
    " VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12,"
    " (SELECT coalesce(max(position), 0) + 1 FROM camera))";
constexpr const char* kUpdate =
    "UPDATE camera SET title = ?1, source = ?2, stream_address = ?3, still_address = ?4, user = ?5, password "
    "= ?6,"
    " poll_every_ms = ?7, enabled = ?8, recording = ?9, keep_for_h = ?10, keep_bytes = ?11 WHERE name = ?12";
constexpr const char* kSelect =
    "SELECT name, title, source, stream_address, still_address, user, password, poll_every_ms, enabled, "
    "recording,"
    " keep_for_h, keep_bytes FROM camera ";

// A password that this key does not open must not keep the other cameras from running: it is left out, and
// said.
std::string open_password(const std::optional<SecretBox>& box, const SQLite::Column& column,
                          const base::CameraName& name) {
  if (column.isNull()) return {};
  const std::string_view sealed(static_cast<const char*>(column.getBlob()),
                                static_cast<std::size_t>(column.getBytes()));
  std::optional<std::string> plain = box ? box->unseal(sealed) : std::nullopt;
  if (plain) return std::move(*plain);
  base::log_error(name.text(), "the board's password cannot be opened: station.key {}. {}",
                  box ? "is not the one it was sealed with" : "is missing",
                  "Put the key back from a backup, or set the password again.");
  return {};
}

base::Result<Settings> settings_of(SQLite::Statement& row, const std::optional<SecretBox>& box) {
  auto name = base::CameraName::parse(row.getColumn(0).getString());
  if (!name) return name.error();
  Settings settings(std::move(name).value());
  settings.title = row.getColumn(1).getString();
  settings.source = source_of(row.getColumn(2).getString());
  settings.stream_address = row.getColumn(3).getString();
  settings.still_address = row.getColumn(4).getString();
  settings.user = row.getColumn(5).getString();
  settings.password = open_password(box, row.getColumn(6), settings.name);
  settings.poll_every = std::chrono::milliseconds{row.getColumn(7).getInt64()};
  settings.enabled = row.getColumn(8).getInt() != 0;
  settings.recording = row.getColumn(9).getInt() != 0;
  if (!row.isColumnNull(10)) settings.keep_for = std::chrono::hours{row.getColumn(10).getInt64()};
  if (!row.isColumnNull(11)) settings.keep_bytes = static_cast<std::uint64_t>(row.getColumn(11).getInt64());
  return settings;
}

base::Result<std::vector<Settings>> select(const Catalog& catalog, const std::string& rest,
                                           const std::function<void(SQLite::Statement&)>& bind) {
  auto box = SecretBox::open_if_there(catalog.home());
  if (!box) return box.error();
  std::vector<Settings> found;
  auto done = catalog.read([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement query(db, kSelect + rest);
    bind(query);
    while (query.executeStep()) {
      auto settings = settings_of(query, *box);
      if (!settings) return settings.error();
      found.push_back(std::move(settings).value());
    }
    return base::ok();
  });
  if (!done) return done.error();
  return found;
}

}  // namespace

namespace {

// A board serves one viewer: two cameras must not pull one stream. Addresses are compared as they are
// written.
base::Result<void> check_address_is_free(SQLite::Database& db, const Settings& settings) {
  if (settings.source != camera::Source::stream) return base::ok();
  SQLite::Statement query(
      db, "SELECT name FROM camera WHERE stream_address = ?1 AND source = 'stream' AND name <> ?2");
  query.bind(1, settings.stream_address);
  query.bind(2, settings.name.text());
  if (!query.executeStep()) return base::ok();
  return base::Error(
      base::ErrorCode::already_exists, settings.name.text(),
      fmt::format("the camera \"{}\" pulls this stream already", query.getColumn(0).getString()),
      "A board serves one viewer: give each camera a board of its own.");
}

}  // namespace

base::Result<void> CameraStore::add(const Settings& settings) {
  if (auto good = camera::check(settings); !good) return good;
  auto sealed = seal_password(catalog_, settings);
  if (!sealed) return sealed.error();
  return catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    if (auto free = check_address_is_free(db, settings); !free) return free;
    try {
      SQLite::Statement insert(db, kInsert);
      bind_settings(insert, settings, *sealed);
      insert.exec();
    } catch (const SQLite::Exception& failure) {
      if (failure.getExtendedErrorCode() != SQLITE_CONSTRAINT_UNIQUE) throw;
      return base::Error(base::ErrorCode::already_exists, settings.name.text(),
                         "there is a camera of that name already",
                         "Choose another name, or change that camera.");
    }
    return base::ok();
  });
}

base::Result<void> CameraStore::set(const Settings& settings) {
  if (auto good = camera::check(settings); !good) return good;
  auto sealed = seal_password(catalog_, settings);
  if (!sealed) return sealed.error();
  return catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    if (auto free = check_address_is_free(db, settings); !free) return free;
    SQLite::Statement update(db, kUpdate);
    bind_settings(update, settings, *sealed);
    if (update.exec() == 0) return no_such_camera(settings.name);
    return base::ok();
  });
}

base::Result<void> CameraStore::remove(const base::CameraName& name) {
  return catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement remove(db, "DELETE FROM camera WHERE name = ?");
    remove.bind(1, name.text());
    if (remove.exec() == 0) return no_such_camera(name);
    return base::ok();
  });
}

base::Result<Settings> CameraStore::find(const base::CameraName& name) const {
  auto found =
      select(catalog_, "WHERE name = ?", [&](SQLite::Statement& query) { query.bind(1, name.text()); });
  if (!found) return found.error();
  if (found->empty()) return no_such_camera(name);
  return std::move(found->front());
}

base::Result<std::vector<Settings>> CameraStore::list() const {
  return select(catalog_, "ORDER BY position", [](SQLite::Statement&) {});
}

}  // namespace rookery::archive
