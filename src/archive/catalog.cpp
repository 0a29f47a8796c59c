#include "archive/catalog.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <fcntl.h>
#include <sqlite3.h>
#include <unistd.h>

#include <condition_variable>
#include <thread>

#include "archive/catalog_error.h"
#include "archive/catalog_queue.h"
#include "archive/schema.h"
#include "base/file.h"
#include "base/log.h"

namespace rookery::archive {
namespace {

constexpr std::chrono::milliseconds kBusy{5000};
constexpr std::size_t kMostIdleReaders = 8;

// catalog.db is made here, empty, so that it is never readable by others, not even for a moment. SQLite gives
// its -wal and -shm the same mode.
base::Result<void> make_file(const std::filesystem::path& file) {
  const int descriptor = ::open(file.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
  if (descriptor < 0) {
    if (errno == EEXIST) return base::ok();
    return base::file_error(errno, "make catalog", file);
  }
  ::close(descriptor);
  return base::sync_folder(file.parent_path());
}

// Two processes that open a new catalog at once meet here; SQLite does not wait for this pragma by itself.
void switch_to_wal(SQLite::Database& db) {
  const auto until = std::chrono::steady_clock::now() + kBusy;
  while (true) {
    try {
      db.exec("PRAGMA journal_mode = WAL");
      return;
    } catch (const SQLite::Exception& failure) {
      if (failure.getErrorCode() != SQLITE_BUSY || std::chrono::steady_clock::now() > until) throw;
      std::this_thread::sleep_for(std::chrono::milliseconds(10));
    }
  }
}

base::Result<void> prepare_writer(SQLite::Database& db) {
  // Asked before anything is written: a file that is not ours, or newer, stays as it is, its log included.
  sqlite3_db_config(db.getHandle(), SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr);
  const schema::Kind kind = schema::kind_of(db);
  if (kind == schema::Kind::newer || kind == schema::Kind::foreign) return schema::bring_up(db);
  sqlite3_db_config(db.getHandle(), SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 0, nullptr);
  switch_to_wal(db);
  // FULL: a commit returns after fsync, so that what was reported as done survives a power cut.
  db.exec(
      "PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON; PRAGMA trusted_schema = OFF;"
      "PRAGMA temp_store = MEMORY; PRAGMA journal_size_limit = 16777216");
  if (auto result = schema::bring_up(db); !result) return result;
  return schema::look_over(db);
}

// Whose turn it is to write, with a bound on waiting. (A std::timed_mutex would do, but ThreadSanitizer does
// not know the call that it waits with.)
class WriteTurn {
 public:
  bool take_within(std::chrono::milliseconds most) {
    std::unique_lock lock(mutex_);
    if (!free_.wait_for(lock, most, [this] { return !taken_; })) return false;
    taken_ = true;
    return true;
  }
  void give_back() {
    {
      const std::lock_guard lock(mutex_);
      taken_ = false;
    }
    free_.notify_one();
  }

 private:
  std::mutex mutex_;
  std::condition_variable free_;
  bool taken_ = false;
};

// Takes the turn and gives it back on every way out.
class HeldTurn {
 public:
  explicit HeldTurn(WriteTurn& turn) : turn_(turn), held_(turn.take_within(kBusy)) {}
  ~HeldTurn() {
    if (held_) turn_.give_back();
  }
  HeldTurn(const HeldTurn&) = delete;
  HeldTurn& operator=(const HeldTurn&) = delete;
  explicit operator bool() const { return held_; }

 private:
  WriteTurn& turn_;
  bool held_;
};

base::Error turn_never_came() {
  return {base::ErrorCode::busy, "write catalog",
          "this program's own writes have kept the catalog for more than 5 s",
          "The disk is very slow or failing: check it, then try again."};
}

}  // namespace

struct Catalog::Impl {
  std::filesystem::path home;
  WriteTurn write_turn;
  std::unique_ptr<SQLite::Database> writer;
  std::mutex readers_mutex;
  std::vector<std::unique_ptr<SQLite::Database>> idle_readers;
  std::atomic<std::int64_t> last_settings_version{0};
  std::unique_ptr<CatalogQueue> queue;  // last: its thread ends before the rest goes

  std::filesystem::path file() const { return home / "catalog.db"; }
  std::unique_ptr<SQLite::Database> take_reader();
  void give_back(std::unique_ptr<SQLite::Database> reader);
  base::Result<std::vector<bool>> run_batch(const std::vector<const CatalogQueue::Work*>& works);
};

std::unique_ptr<SQLite::Database> Catalog::Impl::take_reader() {
  {
    const std::lock_guard lock(readers_mutex);
    if (!idle_readers.empty()) {
      auto reader = std::move(idle_readers.back());
      idle_readers.pop_back();
      return reader;
    }
  }
  return std::make_unique<SQLite::Database>(file().string(), SQLite::OPEN_READONLY | SQLite::OPEN_NOMUTEX,
                                            static_cast<int>(kBusy.count()));
}

void Catalog::Impl::give_back(std::unique_ptr<SQLite::Database> reader) {
  const std::lock_guard lock(readers_mutex);
  if (idle_readers.size() < kMostIdleReaders) idle_readers.push_back(std::move(reader));
}

// Each work has its own savepoint, so that one that fails for itself takes no other with it.
base::Result<std::vector<bool>> Catalog::Impl::run_batch(
    const std::vector<const CatalogQueue::Work*>& works) {
  std::vector<bool> failed(works.size(), false);
  const HeldTurn turn(write_turn);
  if (!turn) return turn_never_came();
  try {
    SQLite::Transaction transaction(*writer, SQLite::TransactionBehavior::IMMEDIATE);
    for (std::size_t i = 0; i < works.size(); ++i) {
      writer->exec("SAVEPOINT work");
      try {
        (*works[i])(*writer);
      } catch (const SQLite::Exception& failure) {
        const int code = failure.getErrorCode();
        const bool of_its_own = code == SQLITE_CONSTRAINT || code == SQLITE_ERROR ||
                                code == SQLITE_MISMATCH || code == SQLITE_RANGE || code == SQLITE_TOOBIG ||
                                code == -1;
        if (!of_its_own) throw;
        failed[i] = true;
        base::log_error("catalog", "a queued work failed: {}", failure.what());
      } catch (const std::exception& failure) {
        failed[i] = true;
        base::log_error("catalog", "a queued work failed: {}", failure.what());
      }
      if (failed[i]) writer->exec("ROLLBACK TO work");
      writer->exec("RELEASE work");
    }
    transaction.commit();
  } catch (const SQLite::Exception& failure) {
    return catalog_error(failure, writer.get(), home, "write catalog");
  }
  return failed;
}

Catalog::Catalog() : impl_(std::make_unique<Impl>()) {}
Catalog::~Catalog() = default;

base::Result<std::unique_ptr<Catalog>> Catalog::open(const std::filesystem::path& home) {
  // Closing any descriptor of a file drops all of this process's locks on it (POSIX), so only one thread at a
  // time may be between making the file and opening it.
  static std::mutex opening;
  const std::lock_guard lock(opening);
  auto catalog = std::unique_ptr<Catalog>(new Catalog());
  Impl& impl = *catalog->impl_;
  std::error_code failed;
  impl.home = std::filesystem::absolute(home, failed);
  if (failed) impl.home = home;
  if (auto made = base::make_folder(impl.home); !made) return made.error();
  if (auto made = make_file(impl.file()); !made) return made.error();
  try {
    impl.writer = std::make_unique<SQLite::Database>(
        impl.file().string(), SQLite::OPEN_READWRITE | SQLite::OPEN_NOMUTEX, static_cast<int>(kBusy.count()));
    if (sqlite3_db_readonly(impl.writer->getHandle(), "main") == 1) {
      return base::Error(
          base::ErrorCode::no_permission, "open catalog",
          fmt::format("{} can be read, but not written", impl.file().string()),
          "Let the user that runs rookery write it, and see that the disk is not mounted read-only.");
    }
    if (auto ready = prepare_writer(*impl.writer); !ready) return ready.error();
  } catch (const SQLite::Exception& failure) {
    return catalog_error(failure, impl.writer.get(), impl.home, "open catalog");
  }
  impl.queue = std::make_unique<CatalogQueue>(
      [&impl](const std::vector<const CatalogQueue::Work*>& works) { return impl.run_batch(works); });
  return catalog;
}

base::Result<void> Catalog::write(const std::function<base::Result<void>(SQLite::Database&)>& work) {
  const HeldTurn turn(impl_->write_turn);
  if (!turn) return turn_never_came();
  try {
    SQLite::Transaction transaction(*impl_->writer, SQLite::TransactionBehavior::IMMEDIATE);
    if (auto result = work(*impl_->writer); !result) return result;
    transaction.commit();
    return base::ok();
  } catch (const SQLite::Exception& failure) {
    return catalog_error(failure, impl_->writer.get(), impl_->home, "write catalog");
  }
}

void Catalog::write_later(std::function<void(SQLite::Database&)> work) {
  impl_->queue->put({}, std::move(work));
}

void Catalog::write_later(std::string key, std::function<void(SQLite::Database&)> work) {
  impl_->queue->put(std::move(key), std::move(work));
}

bool Catalog::flush() { return impl_->queue->flush(); }

Catalog::LateCounters Catalog::late_counters() const { return impl_->queue->counters(); }

base::Result<void> Catalog::read(const std::function<base::Result<void>(SQLite::Database&)>& work) const {
  std::unique_ptr<SQLite::Database> reader;
  try {
    reader = impl_->take_reader();
    base::Result<void> result;
    {
      SQLite::Transaction transaction(*reader);
      result = work(*reader);
    }
    impl_->give_back(std::move(reader));
    return result;
  } catch (const SQLite::Exception& failure) {
    return catalog_error(failure, reader.get(), impl_->home, "read catalog");
  }
}

std::int64_t Catalog::settings_version() const {
  const auto result = read([this](SQLite::Database& db) -> base::Result<void> {
    impl_->last_settings_version = db.execAndGet("SELECT number FROM settings_version").getInt64();
    return base::ok();
  });
  if (!result) base::log_error("catalog", "{}", result.error().text());
  return impl_->last_settings_version;
}

base::Result<void> Catalog::check() const {
  return read([this](SQLite::Database& db) -> base::Result<void> {
    SQLite::Statement query(db, "PRAGMA integrity_check(1)");
    if (query.executeStep() && query.getColumn(0).getString() == "ok") return base::ok();
    return base::Error(
        base::ErrorCode::damaged, "check catalog",
        fmt::format("{}: {}", impl_->file().string(), query.getColumn(0).getString()),
        "Make the catalog anew from the recordings with `rookery archive rebuild`; the damaged file "
        "is set aside, not deleted.");
  });
}

const std::filesystem::path& Catalog::home() const& { return impl_->home; }

}  // namespace rookery::archive
