// People and their passwords; sessions, codes and tokens are in people_sessions.cpp.
#include "archive/people_store.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <sqlite3.h>

#include "archive/people_rows.h"
#include "archive/person_name.h"
#include "archive/secrets.h"

namespace rookery::archive {
namespace people_rows {
namespace {

std::set<base::CameraName> granted(SQLite::Database& db, std::int64_t person) {
  SQLite::Statement query(
      db,
      "SELECT camera.name FROM person_camera JOIN camera ON camera.id = person_camera.camera"
      " WHERE person_camera.person = ?");
  query.bind(1, person);
  std::set<base::CameraName> names;
  while (query.executeStep()) {
    // A name that is none (a file changed by hand) grants nothing.
    if (auto name = base::CameraName::parse(query.getColumn(0).getString()))
      names.insert(std::move(name).value());
  }
  return names;
}

std::optional<Row> first(SQLite::Database& db, SQLite::Statement& query) {
  if (!query.executeStep()) return std::nullopt;
  Row row;
  row.person.id = query.getColumn(0).getInt64();
  row.person.name = query.getColumn(1).getString();
  row.person.role = query.getColumn(2).getString() == "owner" ? Role::owner : Role::viewer;
  row.password_hash = query.getColumn(3).getString();
  if (query.getColumn(4).getInt() == 0) row.person.cameras = granted(db, row.person.id);
  return row;
}

}  // namespace

std::optional<Row> find(SQLite::Database& db, std::int64_t id) {
  SQLite::Statement query(db, "SELECT id, name, role, password, all_cameras FROM person WHERE id = ?");
  query.bind(1, id);
  return first(db, query);
}

std::optional<Row> find(SQLite::Database& db, const std::string& name) {
  SQLite::Statement query(db, "SELECT id, name, role, password, all_cameras FROM person WHERE folded = ?");
  query.bind(1, fold_case(name));
  return first(db, query);
}

base::Error no_such_person(const std::string& name) {
  return {base::ErrorCode::not_found, "people", fmt::format("there is no person \"{}\"", name),
          "`rookery person list` shows those there are."};
}

base::Error no_such_camera(const base::CameraName& name) {
  return {base::ErrorCode::not_found, name.text(), "there is no camera of that name",
          "`rookery camera list` shows those there are."};
}

}  // namespace people_rows

namespace {

constexpr std::size_t kLeastPassword = 8;
constexpr std::size_t kMostPassword = 1024;

base::Result<std::string> checked_hash(const std::string& password) {
  if (password.size() < kLeastPassword || password.size() > kMostPassword) {
    return base::Error(
        base::ErrorCode::invalid_value, "password",
        fmt::format("it has {} bytes; {} to {} are allowed", password.size(), kLeastPassword, kMostPassword),
        "Three or four words in a row make a good one.");
  }
  return secrets::hash_password(password);
}

// Replaces what a viewer may see. The person's own column says whether the list counts at all: an empty list
// then means no camera, never all.
base::Result<void> grant(SQLite::Database& db, std::int64_t person,
                         const std::optional<std::set<base::CameraName>>& cameras) {
  SQLite::Statement all(db, "UPDATE person SET all_cameras = ? WHERE id = ?");
  all.bind(1, cameras ? 0 : 1);
  all.bind(2, person);
  all.exec();
  SQLite::Statement none(db, "DELETE FROM person_camera WHERE person = ?");
  none.bind(1, person);
  none.exec();
  if (!cameras) return base::ok();
  for (const base::CameraName& camera : *cameras) {
    SQLite::Statement one(
        db, "INSERT INTO person_camera(person, camera) SELECT ?, id FROM camera WHERE name = ?");
    one.bind(1, person);
    one.bind(2, camera.text());
    if (one.exec() == 0) return people_rows::no_such_camera(camera);
  }
  return base::ok();
}

base::Error wrong_sign_in() {
  return {base::ErrorCode::no_permission, "sign in", "name or password is wrong",
          "An owner can set a new password with `rookery person password`."};
}

}  // namespace

bool Person::may_see(const base::CameraName& camera) const {
  return role == Role::owner || !cameras || cameras->contains(camera);
}

base::Result<Person> PeopleStore::add(const std::string& name, Role role, const std::string& password,
                                      std::optional<std::set<base::CameraName>> cameras) {
  auto good = check_label("person's name", name, 1);
  if (!good) return good.error();
  auto hash = checked_hash(password);
  if (!hash) return hash.error();
  std::int64_t id = 0;
  auto done = catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    if (people_rows::find(db, name)) {
      return base::Error(base::ErrorCode::already_exists, "people",
                         fmt::format("there is a person \"{}\" already", name),
                         "Choose another name; names that differ only by case are the same.");
    }
    SQLite::Statement insert(
        db, "INSERT INTO person(name, folded, role, password, all_cameras) VALUES(?, ?, ?, ?, 1)");
    insert.bind(1, name);
    insert.bind(2, fold_case(name));
    insert.bind(3, role == Role::owner ? "owner" : "viewer");
    insert.bind(4, *hash);
    insert.exec();
    id = db.getLastInsertRowid();
    return grant(db, id, cameras);
  });
  if (!done) return done.error();
  Person person;
  person.id = id;
  person.name = name;
  person.role = role;
  person.cameras = std::move(cameras);
  return person;
}

base::Result<void> PeopleStore::set_password(const std::string& name, const std::string& password) {
  auto hash = checked_hash(password);
  if (!hash) return hash.error();
  return catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    const auto found = people_rows::find(db, name);
    if (!found) return people_rows::no_such_person(name);
    SQLite::Statement update(db, "UPDATE person SET password = ? WHERE id = ?");
    update.bind(1, *hash);
    update.bind(2, found->person.id);
    update.exec();
    // Whoever got in with the old password is out.
    for (const char* query :
         {"DELETE FROM session WHERE person = ?", "DELETE FROM one_time_code WHERE person = ?"}) {
      SQLite::Statement end(db, query);
      end.bind(1, found->person.id);
      end.exec();
    }
    return base::ok();
  });
}

base::Result<void> PeopleStore::set_cameras(const std::string& name,
                                            std::optional<std::set<base::CameraName>> cameras) {
  return catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    const auto found = people_rows::find(db, name);
    if (!found) return people_rows::no_such_person(name);
    return grant(db, found->person.id, cameras);
  });
}

base::Result<void> PeopleStore::remove(const std::string& name) {
  return catalog_.write([&](SQLite::Database& db) -> base::Result<void> {
    const auto found = people_rows::find(db, name);
    if (!found) return people_rows::no_such_person(name);
    const int owners = db.execAndGet("SELECT count(*) FROM person WHERE role = 'owner'").getInt();
    if (found->person.role == Role::owner && owners == 1) {
      return base::Error(base::ErrorCode::refused, "people",
                         fmt::format("\"{}\" is the last owner, and without one nobody could change anything",
                                     found->person.name),
                         "Add another owner first.");
    }
    SQLite::Statement remove(db, "DELETE FROM person WHERE id = ?");
    remove.bind(1, found->person.id);
    remove.exec();
    return base::ok();
  });
}

base::Result<std::vector<Person>> PeopleStore::list() const {
  std::vector<Person> people;
  auto done = catalog_.read([&](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement ids(db, "SELECT id FROM person ORDER BY id");
    while (ids.executeStep()) {
      if (auto row = people_rows::find(db, ids.getColumn(0).getInt64()))
        people.push_back(std::move(row->person));
    }
    return base::ok();
  });
  if (!done) return done.error();
  return people;
}

base::Result<Person> PeopleStore::check_password(const std::string& name, const std::string& password) const {
  std::optional<people_rows::Row> row;
  auto done = catalog_.read([&](SQLite::Database& db) -> base::Result<void> {
    row = people_rows::find(db, name);
    return base::ok();
  });
  if (!done) return done.error();
  // Never longer than what can have been set: nobody gets to have us hash a megabyte.
  const std::string_view tried = std::string_view(password).substr(0, kMostPassword);
  const bool fits =
      secrets::password_fits(row ? std::string_view(row->password_hash) : std::string_view(), tried);
  if (!fits || !row || password.size() > kMostPassword) return wrong_sign_in();
  return std::move(row->person);
}

}  // namespace rookery::archive
