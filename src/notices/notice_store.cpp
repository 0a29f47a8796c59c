#include "notices/notice_store.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <sqlite3.h>

#include "archive/rows.h"
#include "archive/secret_box.h"
#include "base/log.h"

namespace rookery::notices {
namespace {

using archive::SecretBox;
using base::Error;
using base::ErrorCode;
using base::Result;
namespace rows = archive::rows;

Error not_there(std::string_view what, std::int64_t id) {
  return {ErrorCode::not_found, std::string(what), fmt::format("there is no {} {}", what, id),
          fmt::format("`rookery {} list` shows those there are.", what)};
}

// A broken constraint as what it means; anything else is the catalog's affair.
Error taken_or_missing(const SQLite::Exception& failure, std::string_view what, const std::string& name) {
  if (failure.getExtendedErrorCode() == SQLITE_CONSTRAINT_UNIQUE)
    return {ErrorCode::already_exists, fmt::format("{} \"{}\"", what, name), "the name is taken",
            "Choose another one."};
  if (failure.getExtendedErrorCode() == SQLITE_CONSTRAINT_FOREIGNKEY)
    return {ErrorCode::invalid_value, fmt::format("{} \"{}\"", what, name),
            "it names a receiver that is not there", "`rookery receiver list` shows those there are."};
  throw failure;
}

void bind_receiver(SQLite::Statement& statement, const Receiver& receiver) {
  statement.bind(1, receiver.name);
  statement.bind(2, receiver.enabled ? 1 : 0);
  statement.bind(3, std::string(kind_of(receiver)));
  statement.bind(4, way_json(receiver));
}

Result<std::string> sealed(const archive::Catalog& catalog, const Receiver& receiver) {
  if (secret_of(receiver).empty()) return std::string();
  auto box = SecretBox::make_or_open(catalog.home());
  if (!box) return box.error();
  return box->seal(secret_of(receiver));
}

void bind_secret(SQLite::Statement& statement, int index, const std::string& secret) {
  if (secret.empty()) {
    statement.bind(index);
  } else {
    statement.bind(index, secret.data(), static_cast<int>(secret.size()));
  }
}

std::string opened(const std::optional<SecretBox>& box, const SQLite::Column& column,
                   const std::string& name) {
  if (column.isNull()) return {};
  const std::string_view bytes(static_cast<const char*>(column.getBlob()),
                               static_cast<std::size_t>(column.getBytes()));
  auto plain = box ? box->unseal(bytes) : std::nullopt;
  if (plain) return std::move(*plain);
  base::log_error("notices", "the secret of the receiver \"{}\" cannot be opened: station.key {}. {}", name,
                  box ? "is not the one it was sealed with" : "is missing",
                  "Put the key back from a backup, or set the secret again.");
  return {};
}

Result<Receiver> receiver_of(SQLite::Statement& row, const std::optional<SecretBox>& box) {
  Receiver receiver;
  receiver.id = row.getColumn(0).getInt64();
  receiver.name = row.getColumn(1).getString();
  receiver.enabled = row.getColumn(2).getInt() != 0;
  auto way = read_way(row.getColumn(3).getString(), row.getColumn(4).getString());
  if (!way) return std::move(way).error();
  receiver.way = std::move(*way);
  set_secret(receiver, opened(box, row.getColumn(5), receiver.name));
  return receiver;
}

Result<std::vector<Receiver>> select_receivers(const archive::Catalog& catalog,
                                               std::optional<std::int64_t> id) {
  auto box = SecretBox::open_if_there(catalog.home());
  if (!box) return box.error();
  std::vector<Receiver> found;
  auto done = catalog.read([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement query(
        db,
        "SELECT id, name, enabled, kind, way, secret FROM receiver WHERE ?1 IS NULL OR id = ?1"
        " ORDER BY id");
    if (id) query.bind(1, *id);
    while (query.executeStep()) {
      auto receiver = receiver_of(query, *box);
      if (!receiver) return std::move(receiver).error();
      found.push_back(std::move(*receiver));
    }
    return base::ok();
  });
  if (!done) return std::move(done).error();
  return found;
}

std::string words_of(const std::vector<archive::Event::Cause>& causes) {
  std::string words;
  for (const auto cause : causes) {
    if (!words.empty()) words += ',';
    words += archive::name_of(cause);
  }
  return words;
}

std::vector<archive::Event::Cause> causes_of(std::string_view words) {
  std::vector<archive::Event::Cause> causes;
  while (!words.empty()) {
    const auto comma = std::min(words.find(','), words.size());
    if (const auto cause = archive::event_cause_of(words.substr(0, comma))) causes.push_back(*cause);
    words.remove_prefix(std::min(comma + 1, words.size()));
  }
  return causes;
}

// Parameters 1 to 11.
void bind_rule(SQLite::Statement& statement, const Rule& rule) {
  statement.bind(1, rule.name);
  statement.bind(2, rule.enabled ? 1 : 0);
  statement.bind(3, words_of(rule.causes));
  statement.bind(4, rule.cameras ? 0 : 1);
  statement.bind(5, rule.least_peak);
  statement.bind(6, static_cast<int>(rule.hours.days));
  statement.bind(7, rule.hours.from_min);
  statement.bind(8, rule.hours.until_min);
  statement.bind(9, static_cast<std::int64_t>(rule.quiet.count()));
  statement.bind(10, rule.at_end ? 1 : 0);
  if (rule.snoozed_until) statement.bind(11, rows::micros(*rule.snoozed_until));
}

void put_links(SQLite::Database& db, const Rule& rule) {
  SQLite::Statement receiver(db, "INSERT OR IGNORE INTO rule_receiver(rule, receiver) VALUES(?, ?)");
  for (const std::int64_t id : rule.receivers) {
    receiver.bind(1, rule.id);
    receiver.bind(2, id);
    receiver.exec();
    receiver.reset();
  }
  if (!rule.cameras) return;
  SQLite::Statement camera(db, "INSERT OR IGNORE INTO rule_camera(rule, camera) VALUES(?, ?)");
  for (const base::CameraName& name : *rule.cameras) {
    camera.bind(1, rule.id);
    camera.bind(2, name.text());
    camera.exec();
    camera.reset();
  }
}

Result<Rule> rule_of(SQLite::Database& db, SQLite::Statement& row) {
  Rule rule;
  rule.id = row.getColumn(0).getInt64();
  rule.name = row.getColumn(1).getString();
  rule.enabled = row.getColumn(2).getInt() != 0;
  rule.causes = causes_of(row.getColumn(3).getString());
  rule.least_peak = row.getColumn(5).getDouble();
  rule.hours = {static_cast<std::uint8_t>(row.getColumn(6).getInt()), row.getColumn(7).getInt(),
                row.getColumn(8).getInt()};
  rule.quiet = std::chrono::seconds{row.getColumn(9).getInt64()};
  rule.at_end = row.getColumn(10).getInt() != 0;
  if (!row.isColumnNull(11)) rule.snoozed_until = rows::wall(row.getColumn(11).getInt64());
  SQLite::Statement receivers(db, "SELECT receiver FROM rule_receiver WHERE rule = ? ORDER BY receiver");
  receivers.bind(1, rule.id);
  while (receivers.executeStep()) rule.receivers.push_back(receivers.getColumn(0).getInt64());
  if (row.getColumn(4).getInt() != 0) return rule;
  rule.cameras.emplace();
  SQLite::Statement cameras(db, "SELECT camera FROM rule_camera WHERE rule = ? ORDER BY camera");
  cameras.bind(1, rule.id);
  while (cameras.executeStep()) {
    auto name = base::CameraName::parse(cameras.getColumn(0).getString());
    if (!name) return std::move(name).error();
    rule.cameras->push_back(std::move(*name));
  }
  return rule;
}

Result<std::vector<Rule>> select_rules(const archive::Catalog& catalog, std::optional<std::int64_t> id) {
  std::vector<Rule> found;
  auto done = catalog.read([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement query(
        db,
        "SELECT id, name, enabled, causes, all_cameras, least_peak, days, from_min, until_min,"
        " quiet_s, at_end, snoozed_until_us FROM rule WHERE ?1 IS NULL OR id = ?1 ORDER BY id");
    if (id) query.bind(1, *id);
    while (query.executeStep()) {
      auto rule = rule_of(db, query);
      if (!rule) return std::move(rule).error();
      found.push_back(std::move(*rule));
    }
    return base::ok();
  });
  if (!done) return std::move(done).error();
  return found;
}

Result<void> check_room(SQLite::Database& db, std::string_view table, std::size_t most) {
  const auto many = db.execAndGet(fmt::format("SELECT count(*) FROM {}", table)).getInt64();
  if (static_cast<std::size_t>(many) < most) return base::ok();
  return Error(ErrorCode::too_large, "notices",
               fmt::format("there are {} already, at most {} are allowed", many, most), "Remove one first.");
}

}  // namespace

Result<std::vector<Receiver>> NoticeStore::receivers() const {
  return select_receivers(catalog_, std::nullopt);
}

Result<Receiver> NoticeStore::receiver(std::int64_t id) const {
  auto found = select_receivers(catalog_, id);
  if (!found) return std::move(found).error();
  if (found->empty()) return not_there("receiver", id);
  return std::move(found->front());
}

Result<Receiver> NoticeStore::add(const Receiver& receiver) {
  if (auto good = check(receiver); !good) return std::move(good).error();
  auto secret = sealed(catalog_, receiver);
  if (!secret) return std::move(secret).error();
  Receiver added = receiver;
  auto done = catalog_.write([&](SQLite::Database& db) -> Result<void> {
    if (auto room = check_room(db, "receiver", kMostReceivers); !room) return room;
    SQLite::Statement insert(db,
                             "INSERT INTO receiver(name, enabled, kind, way, secret) VALUES(?, ?, ?, ?, ?)");
    bind_receiver(insert, receiver);
    bind_secret(insert, 5, *secret);
    try {
      insert.exec();
    } catch (const SQLite::Exception& failure) {
      return taken_or_missing(failure, "receiver", receiver.name);
    }
    added.id = db.getLastInsertRowid();
    return base::ok();
  });
  if (!done) return std::move(done).error();
  return added;
}

Result<void> NoticeStore::set(const Receiver& receiver, bool keep_secret) {
  Receiver whole = receiver;
  if (keep_secret) {
    auto stored = this->receiver(receiver.id);
    if (!stored) return std::move(stored).error();
    if (kind_of(*stored) == kind_of(receiver)) set_secret(whole, secret_of(*stored));
  }
  if (auto good = check(whole); !good) return good;
  auto secret = sealed(catalog_, whole);
  if (!secret) return std::move(secret).error();
  return catalog_.write([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement update(
        db, "UPDATE receiver SET name = ?, enabled = ?, kind = ?, way = ?, secret = ? WHERE id = ?");
    bind_receiver(update, whole);
    bind_secret(update, 5, *secret);
    update.bind(6, whole.id);
    try {
      if (update.exec() == 0) return not_there("receiver", whole.id);
    } catch (const SQLite::Exception& failure) {
      return taken_or_missing(failure, "receiver", whole.name);
    }
    return base::ok();
  });
}

Result<void> NoticeStore::remove_receiver(std::int64_t id) {
  return catalog_.write([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement remove(db, "DELETE FROM receiver WHERE id = ?");
    remove.bind(1, id);
    return remove.exec() == 0 ? Result<void>(not_there("receiver", id)) : base::ok();
  });
}

Result<std::vector<Rule>> NoticeStore::rules() const { return select_rules(catalog_, std::nullopt); }

Result<Rule> NoticeStore::rule(std::int64_t id) const {
  auto found = select_rules(catalog_, id);
  if (!found) return std::move(found).error();
  if (found->empty()) return not_there("rule", id);
  return std::move(found->front());
}

Result<Rule> NoticeStore::add(const Rule& rule) {
  if (auto good = check(rule); !good) return std::move(good).error();
  Rule added = rule;
  auto done = catalog_.write([&](SQLite::Database& db) -> Result<void> {
    if (auto room = check_room(db, "rule", kMostRules); !room) return room;
    SQLite::Statement insert(
        db,
        "INSERT INTO rule(name, enabled, causes, all_cameras, least_peak, days, from_min,"
        " until_min, quiet_s, at_end, snoozed_until_us) VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
    bind_rule(insert, rule);
    try {
      insert.exec();
      added.id = db.getLastInsertRowid();
      put_links(db, added);
    } catch (const SQLite::Exception& failure) {
      return taken_or_missing(failure, "rule", rule.name);
    }
    return base::ok();
  });
  if (!done) return std::move(done).error();
  return added;
}

Result<void> NoticeStore::set(const Rule& rule) {
  if (auto good = check(rule); !good) return good;
  return catalog_.write([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement update(
        db,
        "UPDATE rule SET name = ?, enabled = ?, causes = ?, all_cameras = ?, least_peak = ?,"
        " days = ?, from_min = ?, until_min = ?, quiet_s = ?, at_end = ?, snoozed_until_us = ?"
        " WHERE id = ?");
    bind_rule(update, rule);
    update.bind(12, rule.id);
    try {
      if (update.exec() == 0) return not_there("rule", rule.id);
      for (const char* links :
           {"DELETE FROM rule_receiver WHERE rule = ?", "DELETE FROM rule_camera WHERE rule = ?"}) {
        SQLite::Statement remove(db, links);
        remove.bind(1, rule.id);
        remove.exec();
      }
      put_links(db, rule);
    } catch (const SQLite::Exception& failure) {
      return taken_or_missing(failure, "rule", rule.name);
    }
    return base::ok();
  });
}

Result<void> NoticeStore::remove_rule(std::int64_t id) {
  return catalog_.write([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement remove(db, "DELETE FROM rule WHERE id = ?");
    remove.bind(1, id);
    return remove.exec() == 0 ? Result<void>(not_there("rule", id)) : base::ok();
  });
}

Result<std::optional<base::WallTime>> NoticeStore::snoozed_until() const {
  std::optional<base::WallTime> until;
  auto done = catalog_.read([&](SQLite::Database& db) -> Result<void> {
    SQLite::Statement query(db, "SELECT until_us FROM snooze");
    if (query.executeStep()) until = rows::wall(query.getColumn(0).getInt64());
    return base::ok();
  });
  if (!done) return std::move(done).error();
  return until;
}

Result<void> NoticeStore::snooze(std::optional<base::WallTime> until) {
  return catalog_.write([&](SQLite::Database& db) -> Result<void> {
    if (!until) {
      db.exec("DELETE FROM snooze");
      return base::ok();
    }
    SQLite::Statement put(db,
                          "INSERT INTO snooze(id, until_us) VALUES(1, ?) ON CONFLICT(id) DO UPDATE SET "
                          "until_us = excluded.until_us");
    put.bind(1, rows::micros(*until));
    put.exec();
    return base::ok();
  });
}

}  // namespace rookery::notices
