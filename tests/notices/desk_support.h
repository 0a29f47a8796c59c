// A desk whose senders do what the test wants, and a clock that it moves.
#pragma once

#include <SQLiteCpp/SQLiteCpp.h>
#include <gtest/gtest.h>

#include <condition_variable>
#include <map>
#include <mutex>
#include <set>

#include "notices/desk.h"
#include "tests/support/eventually.h"
#include "tests/support/hand_clock.h"
#include "tests/support/home_folder.h"

namespace rookery::notices {

using namespace std::chrono_literals;
using test::eventually;

// What all senders of a test have in common.
struct Outside {
  std::mutex mutex;
  std::condition_variable_any changed;
  std::map<std::int64_t, std::vector<Notice>> had;  // by receiver
  std::set<std::int64_t> failing, hanging, refusing;
  std::map<std::int64_t, int> tries;

  std::size_t count(std::int64_t receiver) {
    const std::lock_guard lock(mutex);
    return had[receiver].size();
  }
  int tried(std::int64_t receiver) {
    const std::lock_guard lock(mutex);
    return tries[receiver];
  }
};

class FakeSender final : public Sender {
 public:
  FakeSender(Outside& outside, std::int64_t receiver) : outside_(outside), receiver_(receiver) {}
  base::Result<std::string> send(const Notice& notice, const std::stop_token& stop) override {
    std::unique_lock lock(outside_.mutex);
    ++outside_.tries[receiver_];
    outside_.changed.wait(lock, stop, [this] { return !outside_.hanging.contains(receiver_); });
    if (stop.stop_requested()) return base::Error(base::ErrorCode::cancelled, "fake", "stopped");
    if (outside_.failing.contains(receiver_))
      return base::Error(base::ErrorCode::refused, "fake", "HTTP 500");
    if (outside_.refusing.contains(receiver_))
      return base::Error(base::ErrorCode::unsupported, "fake", "HTTP 422");
    outside_.had[receiver_].push_back(notice);
    return std::string("ok");
  }

 private:
  Outside& outside_;
  const std::int64_t receiver_;
};

class DeskTest : public testing::Test {
 protected:
  DeskTest() : catalog_(archive::Catalog::open(folder_.path()).value()), store_(*catalog_) {
    first_ = add_receiver("first");
    second_ = add_receiver("second");
    rule_.name = "all";
    rule_.receivers = {first_, second_};
    rule_.quiet = 0s;
    rule_ = store_.add(rule_).value();
  }
  std::int64_t add_receiver(const char* name) {
    return store_.add({0, name, true, Webhook{"https://hall.example/", "a secret that is long", {}}})
        .value()
        .id;
  }
  void start() {
    Desk::Options options;
    options.look_every = 2ms;
    options.seed = 1;
    options.queue = {.most_waiting = 5, .most_done = 100};
    options.make = [this](const Receiver& receiver) {
      return std::make_unique<FakeSender>(outside_, receiver.id);
    };
    options.on_pause_end = [this](const PauseEnd& end) {
      const std::lock_guard lock(outside_.mutex);
      pauses_.push_back(end);
    };
    desk_ = std::make_unique<Desk>(*catalog_, clock_, options);
    desk_->start();
  }
  archive::Event event(std::int64_t id, bool under_way = true, double peak = 0.05,
                       const char* camera = "back-door") {
    archive::Event made(base::CameraName::parse(camera).value());
    made.id = id;
    made.start = made.end = made.best_at = clock_.wall();
    made.under_way = under_way;
    made.peak = peak;
    return made;
  }
  static camera::FramePtr still() {
    return std::make_shared<const camera::Frame>(std::vector<std::byte>(3, std::byte{'x'}), base::WallTime{},
                                                 base::MonoTime{}, 1, camera::PixelSize{});
  }
  bool come(std::int64_t receiver, std::size_t count) {
    return eventually([&] { return outside_.count(receiver) == count; });
  }
  std::optional<ReceiverState> state(std::int64_t receiver) {
    for (const ReceiverState& one : desk_->states()) {
      if (one.receiver == receiver) return one;
    }
    return std::nullopt;
  }
  // So many tries of the oldest that waits have failed, and the clock stands still until the next: what the
  // clock does after that is after them.
  bool fails(std::int64_t receiver, unsigned tries) {
    return eventually([&] {
      const auto head = NoticeQueue(*catalog_).head(receiver).value();
      return head && head->tries == tries;
    });
  }
  QueueCounts counts(std::int64_t receiver) {
    const auto all = NoticeQueue(*catalog_).counts().value();
    return *std::ranges::find(all, receiver, &QueueCounts::receiver);
  }
  // What became of wishes to pause.
  std::vector<PauseEnd> pauses() {
    const std::lock_guard lock(outside_.mutex);
    return pauses_;
  }
  void change(auto how) {
    const std::lock_guard lock(outside_.mutex);
    how(outside_);
    outside_.changed.notify_all();
  }

  support::HomeFolder folder_;
  test::HandClock clock_;
  std::unique_ptr<archive::Catalog> catalog_;
  NoticeStore store_;
  Outside outside_;
  std::int64_t first_ = 0;
  std::int64_t second_ = 0;
  Rule rule_;
  std::vector<PauseEnd> pauses_;
  std::unique_ptr<Desk> desk_;
};

}  // namespace rookery::notices
