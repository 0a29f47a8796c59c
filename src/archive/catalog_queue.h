// The works that the catalog's own thread writes later: gathered, replaced by newer ones, tried again.
#pragma once

#include <condition_variable>
#include <cstdint>
#include <functional>
#include <list>
#include <mutex>
#include <string>
#include <thread>
#include <unordered_map>
#include <vector>

#include "archive/catalog.h"

namespace rookery::archive {

// any-thread. See Catalog::write_later for what it promises.
class CatalogQueue {
 public:
  using Work = std::function<void(SQLite::Database&)>;
  // Runs all works in one transaction. Ok: committed, but for those whose place in the returned list is true
  // (failed for themselves). Error: nothing was committed.
  using RunBatch = std::function<base::Result<std::vector<bool>>(const std::vector<const Work*>&)>;

  explicit CatalogQueue(RunBatch run);
  ~CatalogQueue();  // tries what is waiting once more, then gives it up
  CatalogQueue(const CatalogQueue&) = delete;
  CatalogQueue& operator=(const CatalogQueue&) = delete;

  void put(std::string key, Work work);  // an empty key replaces nothing
  bool flush();
  Catalog::LateCounters counters() const;

 private:
  struct Item {
    std::uint64_t number;  // in order of coming; a work that replaces another takes over its number
    std::string key;
    Work work;
  };
  using Items = std::list<Item>;

  void run();
  Items take_batch();
  void settle(Items batch, const base::Result<std::vector<bool>>& outcome);
  void put_back(Items batch);
  void give_up(std::size_t many, const std::string& why);
  bool done_before(std::uint64_t number) const;

  const RunBatch run_batch_;
  mutable std::mutex mutex_;
  std::condition_variable wake_;     // for the thread
  std::condition_variable settled_;  // for flush
  Items waiting_;
  std::unordered_map<std::string, Items::iterator> by_key_;  // those in waiting_
  std::uint64_t next_number_ = 0;
  std::uint64_t first_running_ = kNone;  // number of the first work of the batch that runs now
  std::size_t running_ = 0;
  std::uint64_t overflowed_ = 0;
  std::uint64_t failures_ = 0;  // attempts that will be repeated
  int flushing_ = 0;
  bool stopping_ = false;
  bool failing_ = false;  // the last attempt failed
  Catalog::LateCounters counters_;
  std::thread thread_;

  static constexpr std::uint64_t kNone = ~std::uint64_t{0};
};

}  // namespace rookery::archive
