// What becomes of a notice whose receiver fails, hangs or refuses, and of what a full disk does not take.
#include "tests/notices/desk_support.h"

#include <SQLiteCpp/SQLiteCpp.h>

namespace rookery::notices {
namespace {

class DeliveryTest : public DeskTest {};

TEST_F(DeliveryTest, AReceiverThatHangsKeepsNoOtherWaiting) {
  change([&](Outside& outside) { outside.hanging.insert(first_); });
  start();
  for (int i = 1; i <= 3; ++i) desk_->tell(event(i), "", nullptr);
  ASSERT_TRUE(come(second_, 3));
  EXPECT_EQ(outside_.count(first_), 0u);
  change([&](Outside& outside) { outside.hanging.clear(); });
  EXPECT_TRUE(come(first_, 3));
}

TEST_F(DeliveryTest, WhatFailsIsTriedAgainLaterAndLaterInOrder) {
  change([&](Outside& outside) { outside.failing.insert(first_); });
  start();
  desk_->tell(event(1), "", nullptr);
  desk_->tell(event(2), "", nullptr);
  ASSERT_TRUE(fails(first_, 1));
  EXPECT_NE(state(first_)->last_error.find("HTTP 500"), std::string::npos);
  EXPECT_FALSE(state(second_)->failing_since.has_value());
  clock_.pass(7s);
  ASSERT_TRUE(fails(first_, 2));
  change([&](Outside& outside) { outside.failing.clear(); });
  clock_.pass(13s);
  ASSERT_TRUE(come(first_, 2));
  EXPECT_NE(outside_.had[first_][0].event.find("\"id\":1"), std::string::npos);
  EXPECT_TRUE(eventually([&] { return !state(first_)->failing_since; }));
}

TEST_F(DeliveryTest, AfterADayItIsGivenUpAndSaid) {
  change([&](Outside& outside) { outside.failing.insert(first_); });
  start();
  desk_->tell(event(1), "", nullptr);
  ASSERT_TRUE(fails(first_, 1));
  clock_.pass(24h);
  ASSERT_TRUE(eventually([&] { return counts(first_).given_up == 1; }));
  const auto log = NoticeQueue(*catalog_).log(first_, State::given_up, std::nullopt, 10).value();
  ASSERT_EQ(log.size(), 1u);
  EXPECT_NE(log[0].answer.find("HTTP 500"), std::string::npos);
}

TEST_F(DeliveryTest, AQueueThatIsFullDropsTheOldestWithACount) {
  change([&](Outside& outside) { outside.failing.insert(first_); });
  start();
  for (int i = 1; i <= 8; ++i) {
    desk_->tell(event(i), "", nullptr);
    ASSERT_TRUE(come(second_, static_cast<std::size_t>(i)));  // of its own queue nothing is dropped
  }
  ASSERT_TRUE(eventually([&] { return state(first_) && state(first_)->failing_since; }));
  EXPECT_EQ(counts(first_).waiting, 5u);
  EXPECT_EQ(counts(first_).dropped, 3u);
  change([&](Outside& outside) { outside.failing.clear(); });
  clock_.pass(1h);
  ASSERT_TRUE(come(first_, 5));
  EXPECT_NE(outside_.had[first_][0].event.find("\"id\":4"), std::string::npos);
}

TEST_F(DeliveryTest, WhatWaitsIsDeliveredAfterARestart) {
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
TEST_F(DeliveryTest, WhatCannotBeStoredWaitsInMemoryAndIsDeliveredThen) {
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

// Whatever is queued for it: it is the receiver that fails, not the notice.
TEST_F(DeliveryTest, AReceiverThatFailsIsLeftAloneForAWhile) {
  change([&](Outside& outside) { outside.failing.insert(first_); });
  start();
  desk_->tell(event(1), "", nullptr);
  ASSERT_TRUE(eventually([&] { return state(first_) && state(first_)->failing_since; }));
  for (int i = 2; i <= 4; ++i) desk_->tell(event(i), "", nullptr);
  ASSERT_TRUE(come(second_, 4));
  EXPECT_EQ(outside_.tried(first_), 1);
}

TEST_F(DeliveryTest, ChangedSettingsAndAStartTryAtOnce) {
  change([&](Outside& outside) { outside.failing.insert(first_); });
  start();
  desk_->tell(event(1), "", nullptr);
  ASSERT_TRUE(eventually([&] { return state(first_) && state(first_)->failing_since; }));
  auto receiver = store_.receiver(first_).value();
  set_secret(receiver, "the right one, at last");
  ASSERT_TRUE(store_.set(receiver, false));
  ASSERT_TRUE(eventually([&] { return outside_.tried(first_) == 2; }));
  desk_.reset();
  change([&](Outside& outside) { outside.failing.clear(); });
  clock_.pass(48h);  // off for two days: not its fault
  start();
  EXPECT_TRUE(come(first_, 1));
}

TEST_F(DeliveryTest, AllThatIsTooOldIsGivenUpTogether) {
  change([&](Outside& outside) { outside.failing.insert(first_); });
  start();
  for (int i = 1; i <= 4; ++i) desk_->tell(event(i), "", nullptr);
  ASSERT_TRUE(come(second_, 4));
  ASSERT_TRUE(fails(first_, 1));
  clock_.pass(24h);
  ASSERT_TRUE(eventually([&] { return counts(first_).given_up == 4; }));
  EXPECT_LE(outside_.tried(first_), 2);
}

TEST_F(DeliveryTest, WhatIsRefusedForGoodLetsTheNextOnesPass) {
  change([&](Outside& outside) { outside.refusing.insert(first_); });
  start();
  desk_->tell(event(1), "", nullptr);
  desk_->tell(event(2), "", nullptr);
  ASSERT_TRUE(eventually([&] { return counts(first_).given_up == 1; }));
  change([&](Outside& outside) { outside.refusing.clear(); });
  clock_.pass(7s);
  ASSERT_TRUE(come(first_, 1));
  EXPECT_NE(outside_.had[first_][0].event.find("\"id\":2"), std::string::npos);
}

// As on a full disk. It was sent again and again once, for as long as that lasted.
TEST_F(DeliveryTest, NothingMoreIsSentUntilItCanBeStoredThatOneArrived) {
  SQLite::Database other((folder_.path() / "catalog.db").string(), SQLite::OPEN_READWRITE, 10'000);  // ms
  other.exec("CREATE TRIGGER full BEFORE UPDATE ON notice BEGIN SELECT RAISE(ABORT, 'no room'); END");
  start();
  desk_->tell(event(1), "", nullptr);
  desk_->tell(event(2), "", nullptr);
  const auto is_said = [&](std::int64_t receiver) {
    return state(receiver) && state(receiver)->last_error.find("stored") != std::string::npos;
  };
  ASSERT_TRUE(eventually([&] { return is_said(first_) && is_said(second_); }));
  EXPECT_EQ(outside_.tried(first_), 1);
  EXPECT_EQ(outside_.tried(second_), 1);
  other.exec("DROP TRIGGER full");
  ASSERT_TRUE(come(first_, 2) && come(second_, 2));
  EXPECT_TRUE(eventually([&] { return counts(first_).delivered == 2 && !state(first_)->failing_since; }));
}

// It waits for nothing that a receiver's earlier failures, or other notices, would have it wait for.
TEST_F(DeliveryTest, AWishToPauseGoesFirstAndIsTriedAgainSoon) {
  change([&](Outside& outside) { outside.failing.insert(first_); });
  start();
  desk_->tell(event(1), "", nullptr);
  for (unsigned tries = 1; tries <= 6; ++tries) {  // by then it is left alone for minutes
    ASSERT_TRUE(fails(first_, tries)) << tries;
    if (tries < 6) clock_.pass(std::chrono::seconds(7 << (tries - 1)));
  }
  archive::Event wish = event(2);
  wish.job = 8;
  ASSERT_TRUE(desk_->ask_pause(first_, wish, "", nullptr));
  ASSERT_TRUE(fails(first_, 1)) << "it is the head now, and was tried at once";
  change([&](Outside& outside) { outside.failing.clear(); });
  clock_.pass(7s);
  ASSERT_TRUE(come(first_, 2));
  EXPECT_EQ(outside_.had[first_][0].what, What::pause);
  EXPECT_EQ(outside_.had[first_][1].what, What::begun);
  ASSERT_EQ(pauses().size(), 1u);
  EXPECT_EQ(pauses()[0].job, 8);
  EXPECT_TRUE(pauses()[0].arrived);
}

TEST_F(DeliveryTest, AWishToPauseThatIsTooLateIsSaidWithWhatWasTried) {
  change([&](Outside& outside) { outside.failing.insert(first_); });
  start();
  archive::Event wish = event(2);
  wish.job = 8;
  ASSERT_TRUE(desk_->ask_pause(first_, wish, "", nullptr));
  ASSERT_TRUE(fails(first_, 1));
  clock_.pass(kPauseWithin + 1s);
  ASSERT_TRUE(eventually([&] { return pauses().size() == 1; }));
  EXPECT_FALSE(pauses()[0].arrived);
  EXPECT_TRUE(pauses()[0].answer.starts_with("too late")) << pauses()[0].answer;
  EXPECT_NE(pauses()[0].answer.find("HTTP 500"), std::string::npos) << pauses()[0].answer;
  EXPECT_EQ(counts(first_).given_up, 1u);
  // What the receiver will never take is said at once.
  change([&](Outside& outside) {
    outside.failing.clear();
    outside.refusing.insert(first_);
  });
  ASSERT_TRUE(desk_->ask_pause(first_, wish, "", nullptr));
  ASSERT_TRUE(eventually([&] { return pauses().size() == 2; }));
  EXPECT_NE(pauses()[1].answer.find("HTTP 422"), std::string::npos) << pauses()[1].answer;
}

TEST_F(DeliveryTest, NobodyIsAskedToPauseWhoIsGoneOrSwitchedOff) {
  start();
  auto receiver = store_.receiver(first_).value();
  receiver.enabled = false;
  ASSERT_TRUE(store_.set(receiver, true));
  EXPECT_EQ(desk_->ask_pause(first_, event(1), "", nullptr).error().code, base::ErrorCode::refused);
  ASSERT_TRUE(store_.remove_receiver(first_));
  EXPECT_EQ(desk_->ask_pause(first_, event(1), "", nullptr).error().code, base::ErrorCode::not_found);
}

}  // namespace
}  // namespace rookery::notices
