// A disk that is real until it is told to be full, broken or slow.
#pragma once

#include <atomic>
#include <cerrno>
#include <cstdint>

#include "archive/disk.h"

namespace rookery::test {

// any-thread. Counts every write and flush of every file that it made.
class FailingDisk final : public archive::Disk {
 public:
  // The n-th write from now (1 is the next) fails with `error_number`, after half of its bytes are written,
  // as a full disk does; once, or every one from there on.
  void fail_write(std::int64_t n, int error_number, bool from_then_on = false) {
    error_number_ = error_number;
    from_then_on_ = from_then_on;
    countdown_ = n;
  }
  void recover() { countdown_ = 0; }
  // Every write fails as on a full disk, until a file is removed.
  void fill_until_removed() {
    fail_write(1, ENOSPC, true);
    recovers_by_removal_ = true;
  }
  std::uint64_t writes() const { return writes_; }
  std::uint64_t syncs() const { return syncs_; }
  std::uint64_t bytes() const { return bytes_; }
  // Flushes that are asked for while one of these lives wait for its end: a disk that stalls.
  class Stall {
   public:
    explicit Stall(FailingDisk& disk) : disk_(disk) { disk_.stalled_ = true; }
    ~Stall() { end(); }
    Stall(const Stall&) = delete;
    Stall& operator=(const Stall&) = delete;
    void end() {
      disk_.stalled_ = false;
      disk_.stalled_.notify_all();
    }

   private:
    FailingDisk& disk_;
  };
  // Every flush fails, from now on.
  std::atomic<bool> syncs_fail{false};
  // What space() says instead of the truth; 0: the truth.
  std::atomic<std::uint64_t> pretended_free_bytes{0};

  base::Result<std::unique_ptr<archive::DiskFile>> create(const std::filesystem::path& file) override {
    auto real = archive::real_disk().create(file);
    if (!real) return std::move(real).error();
    return std::unique_ptr<archive::DiskFile>(std::make_unique<File>(*this, std::move(real).value()));
  }
  base::Result<void> remove(const std::filesystem::path& file) override {
    auto removed = archive::real_disk().remove(file);
    if (removed && recovers_by_removal_.exchange(false)) recover();
    return removed;
  }
  base::Result<archive::DiskSpace> space(const std::filesystem::path& folder) override {
    auto space = archive::real_disk().space(folder);
    if (space && pretended_free_bytes != 0) space->free_bytes = pretended_free_bytes;
    return space;
  }
  base::Result<void> sync_folder(const std::filesystem::path&) override { return base::ok(); }
  base::Result<void> sync_all(const std::filesystem::path&) override { return sync_now(); }

 private:
  class File final : public archive::DiskFile {
   public:
    File(FailingDisk& disk, std::unique_ptr<archive::DiskFile> real) : disk_(disk), real_(std::move(real)) {}
    base::Result<void> write_at(std::uint64_t offset, std::span<const std::byte> bytes) override {
      if (disk_.next_write_fails()) {
        (void)real_->write_at(offset, bytes.first(bytes.size() / 2));
        return archive::disk_error("make-believe disk: write", disk_.error_number_);
      }
      disk_.bytes_ += bytes.size();
      return real_->write_at(offset, bytes);
    }
    base::Result<void> truncate(std::uint64_t size) override { return real_->truncate(size); }
    base::Result<void> sync() override { return disk_.sync_now(); }

   private:
    FailingDisk& disk_;
    std::unique_ptr<archive::DiskFile> real_;
  };

  base::Result<void> sync_now() {
    ++syncs_;
    stalled_.wait(true);
    if (syncs_fail) return archive::disk_error("make-believe disk: flush", EIO);
    return base::ok();
  }

  bool next_write_fails() {
    ++writes_;
    const std::int64_t left = countdown_.load();
    if (left == 0) return false;
    if (left > 1) {
      countdown_ = left - 1;
      return false;
    }
    if (!from_then_on_) countdown_ = 0;
    return true;
  }

  std::atomic<std::int64_t> countdown_{0};
  std::atomic<int> error_number_{ENOSPC};
  std::atomic<bool> from_then_on_{false};
  std::atomic<bool> recovers_by_removal_{false};
  std::atomic<std::uint64_t> writes_{0};
  std::atomic<std::uint64_t> syncs_{0};
  std::atomic<bool> stalled_{false};
  std::atomic<std::uint64_t> bytes_{0};
};

}  // namespace rookery::test
