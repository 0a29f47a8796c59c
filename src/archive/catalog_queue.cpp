#include "archive/catalog_queue.h"

#include "archive/catalog_error.h"
#include "base/log.h"

namespace rookery::archive {
namespace {

// A transaction costs one fsync, whatever it holds, so works are gathered for a moment.
constexpr std::chrono::milliseconds kGather{200};
constexpr std::chrono::milliseconds kRetry{1000};
// Bounds how long one transaction keeps others waiting: about 20 ms of work.
constexpr std::size_t kBatch = 1000;
// 100 cameras give 10 strip steps a second: nearly three hours of a full disk.
constexpr std::size_t kMostWaiting = 100'000;

}  // namespace

CatalogQueue::CatalogQueue(RunBatch run_batch)
    : run_batch_(std::move(run_batch)), thread_([this] { run(); }) {}

CatalogQueue::~CatalogQueue() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  wake_.notify_all();
  thread_.join();
}

void CatalogQueue::put(std::string key, Work work) {
  const std::lock_guard lock(mutex_);
  if (!key.empty()) {
    if (const auto found = by_key_.find(key); found != by_key_.end()) {
      found->second->work = std::move(work);
      ++counters_.replaced;
      return;
    }
  }
  if (waiting_.size() + running_ >= kMostWaiting) {
    // Said for the first and every thousandth: a full disk must not fill the log as well.
    ++counters_.given_up;
    if (overflowed_++ % 1000 == 0) {
      base::log_error("catalog", "queued work given up ({} times so far): {} others wait already",
                      overflowed_, waiting_.size());
    }
    return;
  }
  waiting_.push_back(Item{next_number_++, std::move(key), std::move(work)});
  if (!waiting_.back().key.empty()) by_key_[waiting_.back().key] = std::prev(waiting_.end());
  if (waiting_.size() == 1) wake_.notify_one();
}

bool CatalogQueue::flush() {
  std::unique_lock lock(mutex_);
  const std::uint64_t until = next_number_;
  const std::uint64_t failures = failures_;
  ++flushing_;
  wake_.notify_one();
  settled_.wait(lock, [&] { return done_before(until) || failures_ != failures; });
  --flushing_;
  return done_before(until);
}

Catalog::LateCounters CatalogQueue::counters() const {
  const std::lock_guard lock(mutex_);
  Catalog::LateCounters now = counters_;
  now.waiting = waiting_.size() + running_;
  return now;
}

void CatalogQueue::run() {
  std::unique_lock lock(mutex_);
  while (true) {
    wake_.wait(lock, [this] { return stopping_ || !waiting_.empty(); });
    if (waiting_.empty()) return;
    wake_.wait_for(lock, failing_ ? kRetry : kGather, [this] { return stopping_ || flushing_ > 0; });
    Items batch = take_batch();
    std::vector<const Work*> works;
    for (const Item& item : batch) works.push_back(&item.work);
    lock.unlock();
    const auto outcome = run_batch_(works);
    lock.lock();
    settle(std::move(batch), outcome);
    settled_.notify_all();
  }
}

CatalogQueue::Items CatalogQueue::take_batch() {
  Items batch;
  auto end = waiting_.begin();
  std::advance(end, std::min(kBatch, waiting_.size()));
  batch.splice(batch.end(), waiting_, waiting_.begin(), end);
  for (const Item& item : batch) by_key_.erase(item.key);
  first_running_ = batch.front().number;
  running_ = batch.size();
  return batch;
}

void CatalogQueue::settle(Items batch, const base::Result<std::vector<bool>>& outcome) {
  first_running_ = kNone;
  running_ = 0;
  if (outcome) {
    const auto failed =
        static_cast<std::size_t>(std::count(outcome.value().begin(), outcome.value().end(), true));
    counters_.committed += batch.size() - failed;
    if (failed > 0) give_up(failed, "see the lines above");
    if (failing_) base::log_info("catalog", "writing again; {} works are waiting", waiting_.size());
    failing_ = false;
    return;
  }
  if (!may_pass(outcome.error())) {
    give_up(batch.size(), outcome.error().text());
    return;
  }
  if (stopping_) {  // nothing will make room any more: no use in trying the rest
    give_up(batch.size() + waiting_.size(), outcome.error().text());
    waiting_.clear();
    by_key_.clear();
    return;
  }
  ++failures_;
  if (!failing_) {
    base::log_error("catalog", "{} Tried again every second; {} works are waiting.", outcome.error().text(),
                    batch.size() + waiting_.size());
  }
  failing_ = true;
  put_back(std::move(batch));
}

void CatalogQueue::put_back(Items batch) {
  for (auto item = batch.begin(); item != batch.end(); ++item) {
    if (item->key.empty()) continue;
    if (const auto newer = by_key_.find(item->key); newer != by_key_.end()) {
      item->work = std::move(newer->second->work);
      waiting_.erase(newer->second);
      ++counters_.replaced;
    }
    by_key_[item->key] = item;  // splicing below keeps iterators valid
  }
  waiting_.splice(waiting_.begin(), batch);
}

void CatalogQueue::give_up(std::size_t many, const std::string& why) {
  counters_.given_up += many;
  base::log_error("catalog", "{} queued works given up ({} since the start): {}", many, counters_.given_up,
                  why);
}

bool CatalogQueue::done_before(std::uint64_t number) const {
  const std::uint64_t first_waiting = waiting_.empty() ? kNone : waiting_.front().number;
  return std::min(first_running_, first_waiting) >= number;
}

}  // namespace rookery::archive
