// Notices on their way: in order, bounded with a count, and what became of each.
#include "notices/notice_queue.h"

#include <gtest/gtest.h>

#include "notices/notice_store.h"
#include "tests/support/home_folder.h"

namespace rookery::notices {
namespace {

using namespace std::chrono_literals;

base::WallTime at(std::chrono::microseconds since_noon) {
  return base::parse_rfc3339("2026-03-01T12:00:00Z").value() + since_noon;
}

class NoticeQueueTest : public testing::Test {
 protected:
  NoticeQueueTest()
      : catalog(archive::Catalog::open(folder.path()).value()),
        queue(*catalog, {.most_waiting = 3, .most_done = 2}),
        receiver(NoticeStore(*catalog)
                     .add({0, "hook", true, Webhook{"https://hall.example/", "a secret that is long", {}}})
                     .value()
                     .id) {}
  Queued notice(std::chrono::seconds made, std::string still = "jpeg") const {
    Queued queued;
    queued.receiver = receiver;
    queued.rule = 7;
    queued.event = 42;
    queued.notice.what = What::begun;
    queued.notice.made = at(made);
    queued.notice.camera = "anvil";
    queued.notice.title = "Anvil";
    queued.notice.event = R"({"id":42})";
    queued.notice.still = std::move(still);
    return queued;
  }
  std::vector<std::string> states() const {
    std::vector<std::string> found;
    const auto log = queue.log(std::nullopt, std::nullopt, std::nullopt, 100).value();
    for (const Queued& one : log) found.emplace_back(name_of(one.state));
    return found;
  }
  using States = std::vector<std::string>;
  support::HomeFolder folder;
  std::unique_ptr<archive::Catalog> catalog;
  NoticeQueue queue;
  std::int64_t receiver;
};

TEST_F(NoticeQueueTest, WhatIsGivenUpTogetherLeavesTheEndOfAState) {
  Queued off = notice(2s);
  off.notice.what = What::ended;
  off.notice.motion = true;
  ASSERT_TRUE(queue.add({notice(0s), notice(1s), off}));
  EXPECT_EQ(queue.give_up_all(receiver, at(2s), "HTTP 500", at(24h)).value(), 2u);
  EXPECT_EQ(states(), (States{"waiting", "given-up", "given-up"}));
  EXPECT_EQ(queue.log(receiver, State::given_up, std::nullopt, 10).value().front().answer, "HTTP 500");
  EXPECT_EQ(queue.head(receiver).value()->notice.what, What::ended);
}

TEST_F(NoticeQueueTest, AnEndIsOwedUntilItIsQueued) {
  Queued on = notice(0s);
  on.owes_end = true;
  on.notice.motion = true;
  ASSERT_TRUE(queue.add({on, on}));
  ASSERT_EQ(queue.owed_ends().value().size(), 1u);
  EXPECT_EQ(queue.owed_ends().value().front().camera, "anvil");
  EXPECT_TRUE(queue.owed_ends().value().front().motion);
  on.notice.what = What::ended;
  ASSERT_TRUE(queue.add({on}));
  EXPECT_TRUE(queue.owed_ends().value().empty());
}

TEST_F(NoticeQueueTest, TheOldestIsNextWithItsStill) {
  ASSERT_TRUE(queue.add({notice(0s), notice(1s, "")}));
  auto head = queue.head(receiver).value();
  ASSERT_TRUE(head.has_value());
  Notice wanted = notice(0s).notice;
  wanted.id = head->notice.id;
  EXPECT_EQ(head->notice, wanted);
  EXPECT_EQ(head->next, at(0s));
  ASSERT_TRUE(queue.note_delivered(head->notice.id, "HTTP 204", at(2s)));
  head = queue.head(receiver).value();
  EXPECT_TRUE(head->notice.still.empty());
  ASSERT_TRUE(queue.note_failed(head->notice.id, "HTTP 500", at(7s)));
  head = queue.head(receiver).value();
  EXPECT_EQ(head->tries, 1u);
  EXPECT_EQ(head->next, at(7s));
  EXPECT_EQ(head->answer, "HTTP 500");
  ASSERT_TRUE(queue.give_up(head->notice.id, "HTTP 500", at(24h)));
  EXPECT_FALSE(queue.head(receiver).value().has_value());
  EXPECT_EQ(states(), (States{"given-up", "delivered"}));
  const auto counts = queue.counts().value();
  EXPECT_EQ(counts[0].delivered, 1u);
  EXPECT_EQ(counts[0].given_up, 1u);
  EXPECT_EQ(counts[0].waiting, 0u);
}

TEST_F(NoticeQueueTest, WhenTooManyWaitTheOldestAreDroppedAndCounted) {
  for (int i = 0; i < 5; ++i) ASSERT_TRUE(queue.add({notice(std::chrono::seconds(i))}));
  EXPECT_EQ(states(), (States{"waiting", "waiting", "waiting", "dropped", "dropped"}));
  const auto counts = queue.counts().value();
  EXPECT_EQ(counts[0].dropped, 2u);
  EXPECT_EQ(counts[0].waiting, 3u);
  EXPECT_EQ(counts[0].oldest_waiting, at(2s));
}

TEST_F(NoticeQueueTest, WhatIsDoneIsForgottenAfterAWhileButNotItsCount) {
  for (int i = 0; i < 5; ++i) {
    ASSERT_TRUE(queue.add({notice(std::chrono::seconds(i))}));
    ASSERT_TRUE(queue.note_delivered(queue.head(receiver).value()->notice.id, "ok", at(9s)));
  }
  EXPECT_EQ(states(), (States{"delivered", "delivered"}));
  EXPECT_EQ(queue.counts().value()[0].delivered, 5u);
}

TEST_F(NoticeQueueTest, AStillThatIsTooLargeIsLeftOutNotItsNotice) {
  ASSERT_TRUE(queue.add({notice(0s, std::string(NoticeQueue::kMostStill_bytes + 1, 'x'))}));
  EXPECT_TRUE(queue.head(receiver).value()->notice.still.empty());
}

TEST_F(NoticeQueueTest, NoticesOfAReceiverThatIsGoneGoWithIt) {
  ASSERT_TRUE(queue.add({notice(0s)}));
  ASSERT_TRUE(NoticeStore(*catalog).remove_receiver(receiver));
  EXPECT_TRUE(states().empty());
  EXPECT_TRUE(queue.add({notice(0s)}));
  EXPECT_TRUE(states().empty());
}

TEST_F(NoticeQueueTest, TheLastOfARuleAndCameraIsKnown) {
  const auto anvil = base::CameraName::parse("anvil").value();
  EXPECT_FALSE(queue.last_made(7, anvil).value().has_value());
  ASSERT_TRUE(queue.add({notice(0s), notice(5s)}));
  EXPECT_EQ(queue.last_made(7, anvil).value(), at(5s));
  EXPECT_FALSE(queue.last_made(8, anvil).value().has_value());
  EXPECT_FALSE(queue.last_made(7, base::CameraName::parse("cog").value()).value().has_value());
}

TEST_F(NoticeQueueTest, TheLogIsFilteredAndGoesOn) {
  ASSERT_TRUE(queue.add({notice(0s), notice(1s), notice(2s)}));
  const auto first = queue.log(receiver, State::waiting, std::nullopt, 2).value();
  ASSERT_EQ(first.size(), 2u);
  const auto rest = queue.log(receiver, State::waiting, first.back().notice.id, 2).value();
  ASSERT_EQ(rest.size(), 1u);
  EXPECT_EQ(rest[0].notice.made, at(0s));
  EXPECT_TRUE(queue.log(receiver, State::dropped, std::nullopt, 2).value().empty());
  EXPECT_TRUE(queue.log(receiver + 1, std::nullopt, std::nullopt, 2).value().empty());
}

}  // namespace
}  // namespace rookery::notices
