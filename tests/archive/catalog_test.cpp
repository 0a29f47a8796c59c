// The catalog as a file: what opens, what is refused and left alone, who may write when.
#include "tests/archive/catalog_support.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <gtest/gtest.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <fstream>
#include <iterator>
#include <thread>

#include "archive/schema.h"
#include "archive/strip_store.h"
#include "tests/support/home_folder.h"

namespace rookery::archive {
namespace {

using base::ErrorCode;

std::string bytes_of(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

void change_directly(const std::filesystem::path& home, const std::string& sql) {
  SQLite::Database db((home / "catalog.db").string(), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE);
  db.exec(sql);
}

// Runs `work` in a process of its own; gives its exit status.
template <class Work>
pid_t start_process(Work work) {
  const pid_t child = ::fork();
  if (child == 0) ::_exit(work());
  return child;
}

int status_of(pid_t child) {
  int status = 0;
  ::waitpid(child, &status, 0);
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

class CatalogTest : public testing::Test {
 protected:
  support::HomeFolder folder;
};

TEST_F(CatalogTest, MakesAHomeThatOthersCannotRead) {
  const auto home = folder.path() / "hall" / "rookery";
  const auto catalog = Catalog::open(home);
  ASSERT_TRUE(catalog) << catalog.error().text();
  EXPECT_EQ((*catalog)->home(), home);
  struct stat info {};
  ASSERT_EQ(::stat(home.c_str(), &info), 0);
  EXPECT_EQ(info.st_mode & 0777u, 0700u);
  for (const char* name : {"catalog.db", "catalog.db-wal", "catalog.db-shm"}) {
    ASSERT_EQ(::stat((home / name).c_str(), &info), 0) << name;
    EXPECT_EQ(info.st_mode & 0777u, 0600u) << name;
  }
}

TEST_F(CatalogTest, CarriesItsOwnNumbers) {
  { const auto catalog = Catalog::open(folder.path()).value(); }
  SQLite::Database db((folder.path() / "catalog.db").string());
  EXPECT_EQ(db.execAndGet("PRAGMA application_id").getInt(), schema::kApplicationId);
  EXPECT_EQ(db.execAndGet("PRAGMA user_version").getInt(), schema::kVersion);
  EXPECT_EQ(db.execAndGet("PRAGMA journal_mode").getString(), "wal");
}

TEST_F(CatalogTest, WhatWasWrittenIsThereAfterOpeningAgain) {
  { ASSERT_TRUE(SegmentStore(*Catalog::open(folder.path()).value()).add(numbered(1))); }
  const auto catalog = Catalog::open(folder.path()).value();
  EXPECT_EQ(SegmentStore(*catalog).count().value(), 1u);
  EXPECT_TRUE(catalog->check());
}

// exit() without closing anything, as after kill -9.
TEST_F(CatalogTest, WhatWasWrittenOutlivesTheProcess) {
  const pid_t child = start_process([&] {
    auto catalog = Catalog::open(folder.path());
    if (!catalog) return 1;
    return SegmentStore(**catalog).add(numbered(1)) ? 0 : 2;
  });
  ASSERT_EQ(status_of(child), 0);
  const auto catalog = Catalog::open(folder.path()).value();
  EXPECT_EQ(SegmentStore(*catalog).count().value(), 1u);
}

TEST_F(CatalogTest, WhatWasQueuedIsWrittenBeforeItCloses) {
  {
    const auto catalog = Catalog::open(folder.path()).value();
    StripStore(*catalog).put_later(kAnvil, base::WallTime{}, {7, Health::live});
  }
  const auto catalog = Catalog::open(folder.path()).value();
  EXPECT_EQ(StripStore(*catalog).between(kAnvil, {}, {}).value().steps[0], (StripStep{7, Health::live}));
}

TEST_F(CatalogTest, ALaterProgramsCatalogIsRefusedAndNotChanged) {
  { const auto catalog = Catalog::open(folder.path()).value(); }
  change_directly(folder.path(), "PRAGMA user_version = 99");
  const std::string before = bytes_of(folder.path() / "catalog.db");
  const base::Error error = refusal(folder.path());
  EXPECT_EQ(error.code, ErrorCode::newer_version);
  EXPECT_NE(error.text().find("99"), std::string::npos);
  EXPECT_EQ(bytes_of(folder.path() / "catalog.db"), before);
}

TEST_F(CatalogTest, AnotherProgramsDatabaseIsRefusedAndNotChanged) {
  change_directly(folder.path(), "CREATE TABLE seedling(tray TEXT)");
  const std::string before = bytes_of(folder.path() / "catalog.db");
  EXPECT_EQ(refusal(folder.path()).code, ErrorCode::damaged);
  EXPECT_EQ(bytes_of(folder.path() / "catalog.db"), before);
}

TEST_F(CatalogTest, AFileThatIsNoDatabaseIsDamagedAndNotChanged) {
  const std::string content(10'000, '?');
  std::ofstream(folder.path() / "catalog.db") << content;
  const base::Error error = refusal(folder.path());
  EXPECT_EQ(error.code, ErrorCode::damaged);
  EXPECT_NE(error.remedy.find("rookery archive rebuild"), std::string::npos);
  EXPECT_EQ(bytes_of(folder.path() / "catalog.db"), content);
}

TEST_F(CatalogTest, ACutOffFileIsDamaged) {
  {
    const auto catalog = Catalog::open(folder.path()).value();
    ASSERT_TRUE(catalog->write([](SQLite::Database& db) -> base::Result<void> {
      for (int i = 0; i < 2000; ++i) SegmentStore::insert(db, numbered(i));
      return base::ok();
    }));
  }
  const auto file = folder.path() / "catalog.db";
  std::filesystem::resize_file(file, std::filesystem::file_size(file) / 2);
  EXPECT_EQ(refusal(folder.path()).code, ErrorCode::damaged);
}

TEST_F(CatalogTest, AMissingTableIsDamaged) {
  { const auto catalog = Catalog::open(folder.path()).value(); }
  change_directly(folder.path(), "DROP TABLE strip");
  const base::Error error = refusal(folder.path());
  EXPECT_EQ(error.code, ErrorCode::damaged);
  EXPECT_NE(error.text().find("strip"), std::string::npos);
}

TEST_F(CatalogTest, CheckFindsDamageThatOpeningDoesNotLookFor) {
  {
    const auto catalog = Catalog::open(folder.path()).value();
    ASSERT_TRUE(catalog->write([](SQLite::Database& db) -> base::Result<void> {
      for (int i = 0; i < 2000; ++i) SegmentStore::insert(db, numbered(i));
      return base::ok();
    }));
  }
  const auto file = folder.path() / "catalog.db";
  std::fstream stream(file, std::ios::in | std::ios::out | std::ios::binary);
  const auto last_pages = static_cast<std::streamoff>(std::filesystem::file_size(file)) - 8 * 4096;
  stream.seekp(last_pages);
  stream << std::string(8 * 4096, '\x7f');
  stream.close();
  const auto catalog = Catalog::open(folder.path());
  const auto checked = catalog ? (*catalog)->check() : base::Result<void>(catalog.error());
  ASSERT_FALSE(checked);
  EXPECT_EQ(checked.error().code, ErrorCode::damaged);
}

TEST_F(CatalogTest, AHomeThatIsAFileIsSaid) {
  const auto file = folder.path() / "home";
  std::ofstream(file) << "a note";
  for (const auto& home : {file, file / "below"}) {
    const base::Error error = refusal(home);
    EXPECT_EQ(error.code, ErrorCode::invalid_value) << error.text();
    EXPECT_NE(error.text().find(file.string()), std::string::npos);
  }
}

// Root may write anywhere, so the process becomes somebody else where it can.
TEST_F(CatalogTest, AHomeThatMayNotBeWrittenIsSaid) {
  const auto home = folder.path() / "home";
  std::filesystem::create_directory(home);
  ASSERT_EQ(::chmod(folder.path().c_str(), 0755), 0);
  ASSERT_EQ(::chmod(home.c_str(), 0555), 0);
  const pid_t child = start_process([&] {
    if (::geteuid() == 0 && ::setuid(65534) != 0) return 100;
    return static_cast<int>(refusal(home).code);
  });
  EXPECT_EQ(status_of(child), static_cast<int>(ErrorCode::no_permission));
}

TEST_F(CatalogTest, ACatalogThatMayOnlyBeReadIsSaid) {
  { const auto catalog = Catalog::open(folder.path()).value(); }
  ASSERT_EQ(::chmod(folder.path().c_str(), 0755), 0);
  ASSERT_EQ(::chmod((folder.path() / "catalog.db").c_str(), 0444), 0);
  const pid_t child = start_process([&] {
    if (::geteuid() == 0 && ::setuid(65534) != 0) return 100;
    return static_cast<int>(refusal(folder.path()).code);
  });
  EXPECT_EQ(status_of(child), static_cast<int>(ErrorCode::no_permission));
}

TEST_F(CatalogTest, AFailedWriteLeavesNothingBehind) {
  const auto catalog = Catalog::open(folder.path()).value();
  const base::Error reason(ErrorCode::refused, "test", "changed its mind");
  EXPECT_EQ(catalog
                ->write([&](SQLite::Database& db) -> base::Result<void> {
                  SegmentStore::insert(db, numbered(1));
                  return reason;
                })
                .error(),
            reason);
  const auto broken = catalog->write([](SQLite::Database& db) -> base::Result<void> {
    SegmentStore::insert(db, numbered(2));
    db.exec("INSERT INTO no_such_table VALUES(1)");
    return base::ok();
  });
  ASSERT_FALSE(broken);
  EXPECT_EQ(SegmentStore(*catalog).count().value(), 0u);
  EXPECT_TRUE(SegmentStore(*catalog).add(numbered(3)));
}

TEST_F(CatalogTest, AReadConnectionCannotWrite) {
  const auto catalog = Catalog::open(folder.path()).value();
  const auto written = catalog->read([](SQLite::Database& db) -> base::Result<void> {
    db.exec("DELETE FROM segment");
    return base::ok();
  });
  EXPECT_FALSE(written);
}

TEST_F(CatalogTest, TwoProcessesMakeAndWriteTheSameCatalogAtOnce) {
  constexpr int kEach = 100;
  const auto writer = [&](int first) {
    return [this, first] {
      auto catalog = Catalog::open(folder.path());
      if (!catalog) return 1;
      SegmentStore store(**catalog);
      for (int i = 0; i < kEach; ++i) {
        if (!store.add(numbered(first + i))) return 2;
      }
      return 0;
    };
  };
  const pid_t a = start_process(writer(0));
  const pid_t b = start_process(writer(kEach));
  EXPECT_EQ(status_of(a), 0);
  EXPECT_EQ(status_of(b), 0);
  const auto catalog = Catalog::open(folder.path()).value();
  EXPECT_EQ(SegmentStore(*catalog).count().value(), 2u * kEach);
  EXPECT_EQ(SegmentStore(*catalog).bytes_of(kAnvil).value(), 2u * kEach * 10);
  EXPECT_TRUE(catalog->check());
}

TEST_F(CatalogTest, ManyThreadsReadAndWriteAtOnce) {
  const auto catalog = Catalog::open(folder.path()).value();
  SegmentStore segments(*catalog);
  StripStore strips(*catalog);
  std::vector<std::thread> threads;
  std::atomic<int> failed{0};
  for (int thread = 0; thread < 4; ++thread) {
    threads.emplace_back([&, thread] {
      for (int i = 0; i < 40; ++i) {
        Segment segment = numbered(thread * 1000 + i);
        auto id = segments.add(segment);
        if (!id) ++failed;
        segment.id = std::move(id).value_or(0);
        segment.frames = 5;
        segments.note_later(segment);
        strips.put_later(kAnvil, segment.start, {static_cast<std::uint8_t>(i), Health::live});
        if (!segments.between(kAnvil, {}, segment.start)) ++failed;
        if (catalog->settings_version() < 1) ++failed;
        if (i % 10 == 0) catalog->flush();
      }
    });
  }
  for (std::thread& thread : threads) thread.join();
  EXPECT_TRUE(catalog->flush());
  EXPECT_EQ(failed, 0);
  EXPECT_EQ(segments.count().value(), 160u);
  EXPECT_EQ(catalog->late_counters().given_up, 0u);
}

TEST_F(CatalogTest, SettingsVersionMovesWithSettingsOnly) {
  const auto catalog = Catalog::open(folder.path()).value();
  const auto other = Catalog::open(folder.path()).value();
  std::int64_t last = catalog->settings_version();
  const std::string camera =
      "INSERT INTO camera(name, position, title, source, stream_address, still_address, user, poll_every_ms, "
      "enabled) VALUES('anvil', 1, '', 'stream', '', '', '', 1000, 1)";
  for (const std::string& change :
       {camera, std::string("UPDATE camera SET enabled = 0"),
        std::string("INSERT INTO person(name, folded, role, password, all_cameras) VALUES('M', 'm', "
                    "'viewer', '', 0)"),
        std::string("INSERT INTO person_camera VALUES(1, 1)"),
        std::string("INSERT INTO token(camera, hash, label, made_us, use) VALUES(1, x'00', '', 0, 'watch')"),
        std::string("DELETE FROM camera")}) {
    ASSERT_TRUE(other->write([&](SQLite::Database& db) -> base::Result<void> {
      db.exec(change);
      return base::ok();
    })) << change;
    EXPECT_GT(catalog->settings_version(), last) << change;
    last = catalog->settings_version();
  }
  ASSERT_TRUE(SegmentStore(*other).add(numbered(1)));
  EXPECT_EQ(catalog->settings_version(), last);
}

TEST_F(CatalogTest, AWorkThatFailsForItselfTakesNoOtherWithIt) {
  const auto catalog = Catalog::open(folder.path()).value();
  catalog->write_later([](SQLite::Database& db) { SegmentStore::insert(db, numbered(1)); });
  catalog->write_later([](SQLite::Database& db) {
    SegmentStore::insert(db, numbered(2));
    SegmentStore::insert(db, numbered(1));  // the same path again
  });
  catalog->write_later([](SQLite::Database&) { throw std::runtime_error("no reason"); });
  catalog->write_later([](SQLite::Database& db) { SegmentStore::insert(db, numbered(3)); });
  EXPECT_TRUE(catalog->flush());
  EXPECT_EQ(SegmentStore(*catalog).count().value(), 2u);
  const auto counters = catalog->late_counters();
  EXPECT_EQ(counters.committed, 2u);
  EXPECT_EQ(counters.given_up, 2u);
  EXPECT_EQ(counters.waiting, 0u);
}

TEST_F(CatalogTest, FlushWithNothingQueuedReturnsAtOnce) {
  EXPECT_TRUE(Catalog::open(folder.path()).value()->flush());
}

}  // namespace
}  // namespace rookery::archive
