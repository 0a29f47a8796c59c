// Sessions, one-time codes and camera tokens: random secrets, kept as hashes.
#include <SQLiteCpp/SQLiteCpp.h>

#include "archive/people_rows.h"
#include "archive/people_store.h"
#include "archive/person_name.h"
#include "archive/rows.h"
#include "archive/secrets.h"

namespace rookery::archive {
namespace {

void bind_hash(SQLite::Statement& statement, int index, const std::string& hash) {
  statement.bind(index, hash.data(), static_cast<int>(hash.size()));
}

// A new secret for `person` in `table` (session or one_time_code: they have the same columns).
base::Result<std::string> new_secret_in(Catalog& catalog, const char* table, std::int64_t person,
                                        base::WallTime expires) {
  const std::string secret = secrets::new_secret();
  auto done = catalog.write([&](SQLite::Database& db) -> base::Result<void> {
    if (!people_rows::find(db, person)) return people_rows::no_such_person(fmt::format("number {}", person));
    SQLite::Statement insert(db,
                             fmt::format("INSERT INTO {}(hash, person, expires_us) VALUES(?, ?, ?)", table));
    bind_hash(insert, 1, secrets::hash_secret(secret));
    insert.bind(2, person);
    insert.bind(3, rows::micros(expires));
    insert.exec();
    return base::ok();
  });
  if (!done) return done.error();
  return secret;
}

void forget_expired(SQLite::Database& db, const char* table, base::WallTime now) {
  SQLite::Statement purge(db, fmt::format("DELETE FROM {} WHERE expires_us <= ?", table));
  purge.bind(1, rows::micros(now));
  purge.exec();
}

base::Error no_session() {
  return {base::ErrorCode::no_permission, "session", "it has ended or never was", "Sign in again."};
}

base::Error no_code() {
  return {base::ErrorCode::no_permission, "one-time code", "it has been used, has expired, or never was",
          "Ask an owner for a new one."};
}

base::Error no_token(const std::optional<base::CameraName>& camera) {
  return {base::ErrorCode::no_permission, camera ? camera->text() : "token",
          camera ? "this token does not open it" : "this token opens no camera",
          "Make one with `rookery token new`: for watching, or for pushing stills."};
}

TokenInfo token_of(SQLite::Statement& row, const base::CameraName& camera) {
  TokenInfo token{row.getColumn(0).getInt64(),
                  camera,
                  row.getColumn(1).getString(),
                  rows::wall(row.getColumn(2).getInt64()),
                  std::nullopt,
                  token_use_of(row.getColumn(4).getString()).value_or(TokenUse::watch)};
  if (!row.isColumnNull(3)) token.last_used = rows::wall(row.getColumn(3).getInt64());
  return token;
}

std::optional<std::int64_t> camera_id(SQLite::Database& db, const base::CameraName& camera) {
  SQLite::Statement query(db, "SELECT id FROM camera WHERE name = ?");
  query.bind(1, camera.text());
  if (!query.executeStep()) return std::nullopt;
  return query.getColumn(0).getInt64();
}

}  // namespace

base::Result<std::string> PeopleStore::open_session(std::int64_t person, base::WallTime now,
                                                    base::WallTime expires) {
  auto secret = new_secret_in(catalog_, "session", person, expires);
  if (!secret) return secret;
  // Tidying up must not keep anybody from signing in.
  catalog_.write_later("expired", [now](SQLite::Database& db) {
    forget_expired(db, "session", now);
    forget_expired(db, "one_time_code", now);
  });
  return secret;
}

base::Result<Person> PeopleStore::find_session(const std::string& secret, base::WallTime now) const {
  std::optional<people_rows::Row> row;
  auto done = catalog_.read([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement query(db, "SELECT person FROM session WHERE hash = ? AND expires_us > ?");
    bind_hash(query, 1, secrets::hash_secret(secret));
    query.bind(2, rows::micros(now));
    if (query.executeStep()) row = people_rows::find(db, query.getColumn(0).getInt64());
    return base::ok();
  });
  if (!done) return done.error();
  if (!row) return no_session();
  return std::move(row->person);
}

base::Result<void> PeopleStore::close_session(const std::string& secret) {
  return catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement remove(db, "DELETE FROM session WHERE hash = ?");
    bind_hash(remove, 1, secrets::hash_secret(secret));
    remove.exec();
    return base::ok();
  });
}

base::Result<std::string> PeopleStore::new_one_time_code(std::int64_t person, base::WallTime expires) {
  return new_secret_in(catalog_, "one_time_code", person, expires);
}

// Taken out and looked at in one statement: of two that come at once, one finds nothing.
base::Result<Person> PeopleStore::use_one_time_code(const std::string& code, base::WallTime now) {
  std::optional<people_rows::Row> row;
  auto done = catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement take(db,
                           "DELETE FROM one_time_code WHERE hash = ? AND expires_us > ? RETURNING person");
    bind_hash(take, 1, secrets::hash_secret(code));
    take.bind(2, rows::micros(now));
    if (take.executeStep()) row = people_rows::find(db, take.getColumn(0).getInt64());
    return base::ok();
  });
  if (!done) return done.error();
  if (!row) return no_code();
  return std::move(row->person);
}

std::string_view name_of(TokenUse use) {
  switch (use) {
    case TokenUse::watch:
      return "watch";
    case TokenUse::push:
      return "push";
    case TokenUse::report:
      return "report";
  }
  return "watch";
}

std::optional<TokenUse> token_use_of(std::string_view word) {
  for (const TokenUse use : {TokenUse::watch, TokenUse::push, TokenUse::report}) {
    if (name_of(use) == word) return use;
  }
  return std::nullopt;
}

base::Result<NewToken> PeopleStore::new_token(const base::CameraName& camera, const std::string& label,
                                              TokenUse use, base::WallTime now) {
  auto good = check_label("token's label", label, 0);
  if (!good) return good.error();
  NewToken token{0, secrets::new_secret()};
  auto done = catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    const auto id = camera_id(db, camera);
    if (!id) return people_rows::no_such_camera(camera);
    SQLite::Statement insert(db,
                             "INSERT INTO token(camera, hash, label, made_us, use) VALUES(?, ?, ?, ?, ?)");
    insert.bind(1, *id);
    bind_hash(insert, 2, secrets::hash_secret(token.secret));
    insert.bind(3, label);
    insert.bind(4, rows::micros(now));
    insert.bind(5, std::string(name_of(use)));
    insert.exec();
    token.id = db.getLastInsertRowid();
    return base::ok();
  });
  if (!done) return done.error();
  return token;
}

base::Result<std::vector<TokenInfo>> PeopleStore::list_tokens(const base::CameraName& camera) const {
  std::vector<TokenInfo> tokens;
  auto done = catalog_.read([&](SQLite::Database& db) -> base::Result<void> {
    const auto id = camera_id(db, camera);
    if (!id) return people_rows::no_such_camera(camera);
    SQLite::Statement query(
        db, "SELECT id, label, made_us, last_used_us, use FROM token WHERE camera = ? ORDER BY id");
    query.bind(1, *id);
    while (query.executeStep()) tokens.push_back(token_of(query, camera));
    return base::ok();
  });
  if (!done) return done.error();
  return tokens;
}

base::Result<void> PeopleStore::revoke_token(const base::CameraName& camera, std::int64_t id) {
  return catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement remove(
        db, "DELETE FROM token WHERE id = ? AND camera = (SELECT id FROM camera WHERE name = ?)");
    remove.bind(1, id);
    remove.bind(2, camera.text());
    if (remove.exec() > 0) return base::ok();
    return base::Error(base::ErrorCode::not_found, camera.text(), fmt::format("it has no token {}", id),
                       "`rookery token list` shows those there are.");
  });
}

base::Result<TokenInfo> PeopleStore::check_token(const std::optional<base::CameraName>& camera,
                                                 const std::string& token, TokenUse use, base::WallTime now) {
  std::optional<TokenInfo> found;
  auto done = catalog_.read([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement query(db,
                            "SELECT token.id, label, made_us, last_used_us, use, camera.name FROM token"
                            " JOIN camera ON camera.id = token.camera WHERE hash = ? AND use = ?");
    bind_hash(query, 1, secrets::hash_secret(token));
    query.bind(2, std::string(name_of(use)));
    if (!query.executeStep()) return base::ok();
    auto its_camera = base::CameraName::parse(query.getColumn(5).getString());
    if (!its_camera) return its_camera.error();
    if (!camera || *camera == *its_camera) found = token_of(query, *its_camera);
    return base::ok();
  });
  if (!done) return done.error();
  if (!found) return no_token(camera);
  // To the minute is enough for a person, and a stream of requests must not become a stream of writes.
  if (!found->last_used || now - *found->last_used >= std::chrono::minutes(1)) {
    catalog_.write_later(fmt::format("token {}", found->id), [id = found->id, now](SQLite::Database& db) {
      SQLite::Statement update(db, "UPDATE token SET last_used_us = ? WHERE id = ?");
      update.bind(1, rows::micros(now));
      update.bind(2, id);
      update.exec();
    });
  }
  return *found;
}

}  // namespace rookery::archive
