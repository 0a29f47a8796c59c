// From an event to a delivered notice, with a sender that does what the test wants and a clock that it moves.
#include "tests/notices/desk_support.h"

namespace rookery::notices {
namespace {

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

TEST_F(DeskTest, ARuleSaysWhatItSentAndWhyItLastDidNot) {
  rule_.quiet = 60s;
  rule_.cameras = {base::CameraName::parse("back-door").value()};
  ASSERT_TRUE(store_.set(rule_));
  start();
  desk_->tell(event(1), "", nullptr);
  desk_->tell(event(2), "", nullptr);
  desk_->tell(event(3, true, 0.05, "front-counter"), "", nullptr);  // of another camera: no news
  ASSERT_TRUE(eventually([&] {
    const auto states = desk_->rule_states();
    return states.contains(rule_.id) && states.at(rule_.id).last_silent;
  }));
  ASSERT_TRUE(come(first_, 1));
  const RuleState state = desk_->rule_states().at(rule_.id);
  EXPECT_EQ(state.last_sent->event, 1);
  EXPECT_EQ(state.last_silent->event, 2);
  EXPECT_EQ(state.last_silent->verdict, Verdict::quiet);
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
