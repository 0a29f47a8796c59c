#include "archive/camera_store.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <sqlite3.h>

#include "archive/secret_box.h"
#include "base/log.h"
#include "base/redact.h"
#include "camera/board_register.h"
#include "camera/check.h"

namespace rookery::archive {
namespace {

using camera::Settings;
using camera::Source;

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

// Parameters 1 to 16, as both kInsert and kUpdate name them; the name is the last.
void bind_settings(SQLite::Statement& statement, const Settings& settings, const std::string& sealed) {
  statement.bind(1, settings.title);
  statement.bind(2, std::string(camera::name_of(settings.source)));
  statement.bind(3, settings.stream_address);
  statement.bind(4, settings.still_address);
  statement.bind(5, settings.user);
  if (!sealed.empty()) statement.bind(6, sealed.data(), static_cast<int>(sealed.size()));
  statement.bind(7, static_cast<std::int64_t>(settings.poll_every.count()));
  statement.bind(8, settings.enabled ? 1 : 0);
  statement.bind(9, std::string(camera::name_of(settings.record)));
  std::optional<std::int64_t> hours, bytes;
  if (settings.keep_for) hours = settings.keep_for->count();
  if (settings.keep_bytes) bytes = static_cast<std::int64_t>(*settings.keep_bytes);
  bind_optional(statement, 10, hours);
  bind_optional(statement, 11, bytes);
  statement.bind(12, settings.name.text());
  statement.bind(13, static_cast<std::int64_t>(settings.pre_roll.count()));
  statement.bind(14, static_cast<std::int64_t>(settings.post_roll.count()));
  statement.bind(15, settings.sensitivity.step);
  statement.bind(16, settings.mask.text());
}

constexpr const char* kInsert =
    "INSERT INTO camera(title, source, stream_address, still_address, user, password, poll_every_ms, enabled,"
    " record, keep_for_h, keep_bytes, name, pre_roll_ms, post_roll_ms, sensitivity, mask, position)"
    " VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16,"
    " (SELECT coalesce(max(position), 0) + 1 FROM camera))";
constexpr const char* kUpdate =
    "UPDATE camera SET title = ?1, source = ?2, stream_address = ?3, still_address = ?4, user = ?5, password "
    "= ?6,"
    " poll_every_ms = ?7, enabled = ?8, record = ?9, keep_for_h = ?10, keep_bytes = ?11, pre_roll_ms = ?13,"
    " post_roll_ms = ?14, sensitivity = ?15, mask = ?16 WHERE name = ?12";
constexpr const char* kSelect =
    "SELECT name, title, source, stream_address, still_address, user, password, poll_every_ms, enabled, "
    "record, keep_for_h, keep_bytes, pre_roll_ms, post_roll_ms, sensitivity, mask FROM camera ";

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
  settings.source = camera::source_of(row.getColumn(2).getString()).value_or(Source::stream);
  settings.stream_address = row.getColumn(3).getString();
  settings.still_address = row.getColumn(4).getString();
  settings.user = row.getColumn(5).getString();
  settings.password = open_password(box, row.getColumn(6), settings.name);
  settings.poll_every = std::chrono::milliseconds{row.getColumn(7).getInt64()};
  settings.enabled = row.getColumn(8).getInt() != 0;
  settings.record = camera::record_of(row.getColumn(9).getString()).value_or(camera::Record::always);
  if (!row.isColumnNull(10)) settings.keep_for = std::chrono::hours{row.getColumn(10).getInt64()};
  if (!row.isColumnNull(11)) settings.keep_bytes = static_cast<std::uint64_t>(row.getColumn(11).getInt64());
  settings.pre_roll = std::chrono::milliseconds{row.getColumn(12).getInt64()};
  settings.post_roll = std::chrono::milliseconds{row.getColumn(13).getInt64()};
  settings.sensitivity.step = row.getColumn(14).getInt();
  // One that another tool has spoilt ignores nothing: better an event too many than one not seen.
  if (auto mask = vision::Mask::parse(row.getColumn(15).getString())) settings.mask = std::move(*mask);
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

// A board serves one viewer: two cameras must not pull from one. What differs only in writing is seen here;
// two names of one board are seen when they have been looked up (camera::BoardRegister).
base::Result<void> check_address_is_free(SQLite::Database& db, const Settings& settings) {
  const auto pulled = camera::pulled_address(settings);
  if (!pulled) return base::ok();
  const auto wanted = camera::board_key(*pulled);
  if (!wanted) return wanted.error();
  SQLite::Statement query(db,
                          "SELECT name, CASE source WHEN 'stream' THEN stream_address ELSE still_address END "
                          "FROM camera WHERE source <> 'pushed' AND name <> ?");
  query.bind(1, settings.name.text());
  while (query.executeStep()) {
    const auto held = camera::board_key(query.getColumn(1).getString());
    if (!held || *held != *wanted) continue;
    return base::Error(
        base::ErrorCode::already_exists, settings.name.text(),
        fmt::format("the camera \"{}\" pulls from this board already, at {}", query.getColumn(0).getString(),
                    base::redact_address(query.getColumn(1).getString())),
        "A board serves one viewer: give each camera a board of its own.");
  }
  return base::ok();
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
  auto changed = change(settings.name, [&settings](Settings& stored) -> base::Result<void> {
    stored = settings;
    return base::ok();
  });
  return changed ? base::ok() : base::Result<void>(changed.error());
}

// Read and written in one transaction, so that two who change one camera at a time lose nothing of each
// other's.
base::Result<Settings> CameraStore::change(const base::CameraName& name,
                                           const std::function<base::Result<void>(Settings&)>& how) {
  auto box = SecretBox::open_if_there(catalog_.home());
  if (!box) return box.error();
  std::optional<Settings> result;
  auto done = catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement row(db, std::string(kSelect) + "WHERE name = ?");
    row.bind(1, name.text());
    if (!row.executeStep()) return no_such_camera(name);
    auto stored = settings_of(row, *box);
    if (!stored) return stored.error();
    Settings settings = *stored;
    if (auto changed = how(settings); !changed) return changed;
    if (auto good = camera::check(settings); !good) return good;
    if (auto free = check_address_is_free(db, settings); !free) return free;
    // An unchanged password keeps its seal: it may be one that this key does not open, until the right key is
    // back.
    const bool same_password = settings.password == stored->password;
    auto sealed = same_password ? base::Result<std::string>(row.getColumn(6).getString())
                                : seal_password(catalog_, settings);
    if (!sealed) return sealed.error();
    row.reset();
    SQLite::Statement update(db, kUpdate);
    bind_settings(update, settings, *sealed);
    update.exec();
    result = std::move(settings);
    return base::ok();
  });
  if (!done) return done.error();
  return *std::move(result);
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
