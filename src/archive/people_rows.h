// What PeopleStore's two halves share: people as rows.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "archive/people_store.h"

namespace SQLite {
class Database;
}

namespace rookery::archive::people_rows {

struct Row {
  Person person;
  std::string password_hash;
};

// With the cameras granted. Nullopt: no such person.
std::optional<Row> find(SQLite::Database& db, std::int64_t id);
std::optional<Row> find(SQLite::Database& db, const std::string& name);  // without regard to case

base::Error no_such_person(const std::string& name);
base::Error no_such_camera(const base::CameraName& name);

}  // namespace rookery::archive::people_rows
