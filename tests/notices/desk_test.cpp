// From an event to a delivered notice, with a sender that does what the test wants and a clock that it moves.
#include "notices/desk.h"

#include <SQLiteCpp/SQLiteCpp.h>
#include <gtest/gtest.h>

#include <condition_variable>

#include "tests/support/eventually.h"
#include "tests/support/hand_clock.h"
#include "tests/support/home_folder.h"

namespace rookery::notices {
namespace {

using namespace std::chrono_literals;
using test::eventually;

// What all senders of a test have in common.
struct Outside {
  std::mutex mutex;
  std::condition_variable_any changed;
  std::map<std::int64_t, std::vector<Notice>> had;  // by receiver
  std::set<std::int64_t> failing, hanging;
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
  QueueCounts counts(std::int64_t receiver) {
    const auto all = NoticeQueue(*catalog_).counts().value();
    return *std::ranges::find(all, receiver, &QueueCounts::receiver);
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
  std::unique_ptr<Desk> desk_;
};

TEST_F(DeskTest, AnEventReachesEveryReceiverOnceWithItsStill) {
  start();
  desk_->tell(event(1), "Back door", still());
  desk_->tell(event(1), "Back door", still());
  desk_->tell(event(1, false), "Back door", nullptr);
  desk_->tell(event(2), "Back door", nullptr);
  ASSERT_TRUE(come(first_, 2) && come(second_, 2));
  const Notice& had = outside_.had[first_][0];
  EXPECT_EQ(had.what, What::begun);
  EXPECT_EQ(had.camera, "back-door");
  EXPECT_EQ(had.title, "Back door");
  EXPECT_EQ(had.still, "xxx");
  EXPECT_NE(had.event.find("\"id\":1"), std::string::npos);
  // What the sender says is stored a moment later.
  EXPECT_TRUE(eventually([&] { return counts(first_).delivered == 2; }));
}

TEST_F(DeskTest, ItsEndIsToldOnceWhereItIsWanted) {
  rule_.at_end = true;
  ASSERT_TRUE(store_.set(rule_));
  start();
  desk_->tell(event(1), "", nullptr);
  desk_->tell(event(1, false), "", nullptr);
  desk_->tell(event(1, false), "", nullptr);  // a moment that goes on
  desk_->tell(event(2), "", nullptr);
  ASSERT_TRUE(come(first_, 3));
  EXPECT_EQ(outside_.had[first_][1].what, What::ended);
  EXPECT_EQ(outside_.had[first_][2].what, What::begun);
}

TEST_F(DeskTest, AnEventThatGrowsStrongEnoughMakesItsNoticeThen) {
  rule_.least_peak = 0.1;
  ASSERT_TRUE(store_.set(rule_));
  start();
  desk_->tell(event(1, true, 0.05), "", nullptr);
  desk_->tell(event(1, true, 0.2), "", nullptr);
  ASSERT_TRUE(come(first_, 1));
  EXPECT_NE(outside_.had[first_][0].event.find("\"peak\":2E-1"), std::string::npos)
      << outside_.had[first_][0].event;
}

TEST_F(DeskTest, QuietTimeHoldsFromOneNoticeToTheNextAndOverARestart) {
  rule_.quiet = 60s;
  ASSERT_TRUE(store_.set(rule_));
  start();
  desk_->tell(event(1), "", nullptr);
  ASSERT_TRUE(come(first_, 1));
  start();  // again
  desk_->tell(event(2), "", nullptr);
  desk_->tell(event(3, true, 0.05, "front-counter"), "", nullptr);  // another camera has its own
  ASSERT_TRUE(come(first_, 2));
  EXPECT_NE(outside_.had[first_][1].event.find("\"id\":3"), std::string::npos);
  clock_.pass(61s);
  desk_->tell(event(4), "", nullptr);
  ASSERT_TRUE(come(first_, 3));
  EXPECT_NE(outside_.had[first_][2].event.find("\"id\":4"), std::string::npos);
}

TEST_F(DeskTest, AReceiverThatHangsKeepsNoOtherWaiting) {
  change([&](Outside& outside) { outside.hanging.insert(first_); });
  start();
  for (int i = 1; i <= 3; ++i) desk_->tell(event(i), "", nullptr);
  ASSERT_TRUE(come(second_, 3));
  EXPECT_EQ(outside_.count(first_), 0u);
  change([&](Outside& outside) { outside.hanging.clear(); });
  EXPECT_TRUE(come(first_, 3));
}

TEST_F(DeskTest, WhatFailsIsTriedAgainLaterAndLaterInOrder) {
  change([&](Outside& outside) { outside.failing.insert(first_); });
  start();
  desk_->tell(event(1), "", nullptr);
  desk_->tell(event(2), "", nullptr);
  ASSERT_TRUE(eventually([&] { return outside_.tried(first_) == 1 && state(first_)->failing_since; }));
  EXPECT_NE(state(first_)->last_error.find("HTTP 500"), std::string::npos);
  EXPECT_FALSE(state(second_)->failing_since.has_value());
  clock_.pass(7s);
  ASSERT_TRUE(eventually([&] { return outside_.tried(first_) == 2; }));
  change([&](Outside& outside) { outside.failing.clear(); });
  clock_.pass(13s);
  ASSERT_TRUE(come(first_, 2));
  EXPECT_NE(outside_.had[first_][0].event.find("\"id\":1"), std::string::npos);
  EXPECT_TRUE(eventually([&] { return !state(first_)->failing_since; }));
}

TEST_F(DeskTest, AfterADayItIsGivenUpAndSaid) {
  change([&](Outside& outside) { outside.failing.insert(first_); });
  start();
  desk_->tell(event(1), "", nullptr);
  ASSERT_TRUE(eventually([&] { return outside_.tried(first_) == 1; }));
  clock_.pass(24h);
  ASSERT_TRUE(eventually([&] { return counts(first_).given_up == 1; }));
  const auto log = NoticeQueue(*catalog_).log(first_, State::given_up, std::nullopt, 10).value();
  ASSERT_EQ(log.size(), 1u);
  EXPECT_NE(log[0].answer.find("HTTP 500"), std::string::npos);
}

TEST_F(DeskTest, AQueueThatIsFullDropsTheOldestWithACount) {
  change([&](Outside& outside) { outside.failing.insert(first_); });
  start();
  for (int i = 1; i <= 8; ++i) desk_->tell(event(i), "", nullptr);
  ASSERT_TRUE(come(second_, 8));
  EXPECT_EQ(counts(first_).waiting, 5u);
  EXPECT_EQ(counts(first_).dropped, 3u);
  change([&](Outside& outside) { outside.failing.clear(); });
  clock_.pass(1h);
  ASSERT_TRUE(come(first_, 5));
  EXPECT_NE(outside_.had[first_][0].event.find("\"id\":4"), std::string::npos);
}

TEST_F(DeskTest, WhatWaitsIsDeliveredAfterARestart) {
  change([&](Outside& outside) { outside.hanging.insert(first_); });
  start();
  desk_->tell(event(1), "", nullptr);
  ASSERT_TRUE(eventually([&] { return outside_.tried(first_) == 1; }));
  desk_.reset();
  change([&](Outside& outside) { outside.hanging.clear(); });
  start();
  EXPECT_TRUE(come(first_, 1));
}

// Another program's write keeps this one's from the catalog, as a full disk would.
TEST_F(DeskTest, WhatCannotBeStoredWaitsInMemoryAndIsDeliveredThen) {
  start();
  ASSERT_TRUE(eventually([&] { return state(first_).has_value(); }));
  SQLite::Database other((folder_.path() / "catalog.db").string(), SQLite::OPEN_READWRITE, 10'000);  // ms
  other.exec("CREATE TRIGGER full BEFORE INSERT ON notice BEGIN SELECT RAISE(ABORT, 'no room'); END");
  desk_->tell(event(1), "", nullptr);
  desk_->tell(event(2), "", nullptr);
  desk_.reset();  // judged, and not stored
  other.exec("DROP TRIGGER full");
  start();
  ASSERT_TRUE(eventually([&] { return state(first_).has_value(); }));
  other.exec("CREATE TRIGGER full BEFORE INSERT ON notice BEGIN SELECT RAISE(ABORT, 'no room'); END");
  desk_->tell(event(3), "", nullptr);
  desk_->tell(event(4), "", nullptr);
  other.exec("DROP TRIGGER full");
  ASSERT_TRUE(come(first_, 2));
  EXPECT_NE(outside_.had[first_][0].event.find("\"id\":3"), std::string::npos);
  EXPECT_EQ(desk_->lost(), 0u);
}

TEST_F(DeskTest, ChangedSettingsAreTakenUp) {
  start();
  auto receiver = store_.receiver(first_).value();
  receiver.enabled = false;
  ASSERT_TRUE(store_.set(receiver, true));
  const auto third = add_receiver("third");
  rule_.receivers.push_back(third);
  ASSERT_TRUE(store_.set(rule_));
  ASSERT_TRUE(eventually([&] { return state(third) && !state(first_); }));
  desk_->tell(event(1), "", nullptr);
  EXPECT_TRUE(come(third, 1));
  EXPECT_EQ(outside_.count(first_), 0u);
}

TEST_F(DeskTest, ATestReachesItsReceiverWhateverTheRulesSay) {
  ASSERT_TRUE(store_.snooze(clock_.wall() + 1h));
  start();
  ASSERT_TRUE(eventually([&] { return state(first_).has_value(); }));
  ASSERT_TRUE(desk_->test(first_));
  ASSERT_TRUE(come(first_, 1));
  EXPECT_EQ(outside_.had[first_][0].what, What::test);
  EXPECT_EQ(desk_->test(99).error().code, base::ErrorCode::not_found);
}

}  // namespace
}  // namespace rookery::notices
