#include "archive/schema.h"

#include <span>
#include <string>

#include <SQLiteCpp/SQLiteCpp.h>
#include <sqlite3.h>

#include "archive/schema_steps.h"

namespace rookery::archive::schema {
namespace {

// What of a table is a setting: that a token was used is none, nor is what became of notices.
struct Settings {
  const char* table;
  const char* columns;  // "": all
};
constexpr Settings kSettings1[] = {
    {"camera", ""}, {"person", ""}, {"person_camera", ""}, {"token", " OF camera, hash, label, may_push"}};
constexpr Settings kSettings4[] = {{"receiver", " OF name, enabled, kind, way, secret"},
                                   {"rule", ""},
                                   {"rule_receiver", ""},
                                   {"rule_camera", ""},
                                   {"snooze", ""}};
constexpr Settings kSettings7[] = {{"job_settings", ""}};

// Every change of what a person sets moves settings_version, also when somebody changes it with another tool.
std::string settings_triggers(std::span<const Settings> settings) {
  std::string sql;
  for (const Settings& one : settings) {
    for (const std::string change : {"INSERT", "DELETE", "UPDATE"}) {
      sql += fmt::format(
          "CREATE TRIGGER {0}_settings_{1} AFTER {1}{2} ON {0} BEGIN "
          "UPDATE settings_version SET number = number + 1; END;\n",
          one.table, change, change == "UPDATE" ? one.columns : "");
    }
  }
  return sql;
}

int number(SQLite::Database& db, const char* query) { return db.execAndGet(query).getInt(); }

base::Error newer_version(int version) {
  return {base::ErrorCode::newer_version, "open catalog",
          fmt::format("it was written by a later rookery (catalog version {}, this program knows up to {})",
                      version, kVersion),
          "Nothing was changed. Use the later rookery again, or another home folder."};
}

base::Error foreign() {
  return {base::ErrorCode::damaged, "open catalog", "catalog.db is a SQLite file, but of another program",
          "Nothing was changed. Move it away, then make the catalog anew from the recordings with `rookery "
          "archive "
          "rebuild`."};
}

}  // namespace

Kind kind_of(SQLite::Database& db) {
  const int application = number(db, "PRAGMA application_id");
  const int version = number(db, "PRAGMA user_version");
  if (application == 0 && version == 0 && number(db, "SELECT count(*) FROM sqlite_schema") == 0) {
    return Kind::fresh;
  }
  if (application != kApplicationId) return Kind::foreign;
  if (version > kVersion) return Kind::newer;
  return version == kVersion ? Kind::current : Kind::older;
}

base::Result<void> bring_up(SQLite::Database& db, int up_to) {
  SQLite::Transaction transaction(db, SQLite::TransactionBehavior::IMMEDIATE);
  // Asked again inside the transaction: another process may have been faster.
  switch (kind_of(db)) {
    case Kind::current:
      return base::ok();
    case Kind::newer:
      return newer_version(number(db, "PRAGMA user_version"));
    case Kind::foreign:
      return foreign();
    case Kind::fresh:
    case Kind::older:
      break;
  }
  const int version = number(db, "PRAGMA user_version");
  if (version < 1 && up_to >= 1) {
    db.exec(kStep1);
    db.exec(settings_triggers(kSettings1));
  }
  if (version < 2 && up_to >= 2) db.exec(kStep2);
  if (version < 3 && up_to >= 3) db.exec(kStep3);
  if (version < 4 && up_to >= 4) {
    db.exec(kStep4);
    db.exec(settings_triggers(kSettings4));
  }
  if (version < 5 && up_to >= 5) db.exec(kStep5);
  if (version < 6 && up_to >= 6) db.exec(kStep6);
  if (version < 7 && up_to >= 7) {
    db.exec(kStep7);
    db.exec(settings_triggers(kSettings7));
  }
  if (version < 8 && up_to >= 8) db.exec(kStep8);
  if (version < 9 && up_to >= 9) db.exec(kStep9);
  db.exec(fmt::format("PRAGMA application_id = {}", kApplicationId));
  db.exec(fmt::format("PRAGMA user_version = {}", up_to));
  transaction.commit();
  return base::ok();
}

base::Result<void> look_over(SQLite::Database& db) {
  for (const char* table :
       {"camera",        "recorded",    "segment",       "strip",        "person",
        "person_camera", "session",     "one_time_code", "token",        "settings_version",
        "age_clock",     "event",       "motion_state",  "receiver",     "rule",
        "rule_receiver", "rule_camera", "snooze",        "notice",       "owed_end",
        "vitals_minute", "vitals_day",  "board",         "dropout",      "job",
        "job_step",      "job_state",   "film",          "job_settings", "export"}) {
    try {
      SQLite::Statement(db, fmt::format("SELECT * FROM {} LIMIT 1", table)).executeStep();
    } catch (const SQLite::Exception& failure) {
      const int code = failure.getErrorCode();
      if (code != SQLITE_ERROR && code != SQLITE_CORRUPT && code != SQLITE_NOTADB) throw;
      return base::Error(
          base::ErrorCode::damaged, "open catalog",
          fmt::format("table {} cannot be read: {}", table, failure.what()),
          "Make the catalog anew from the recordings with `rookery archive rebuild`; the damaged file "
          "is set aside, not deleted.");
    }
  }
  return base::ok();
}

}  // namespace rookery::archive::schema
