// What a broker was told is on has to be switched off, whatever came between.
#include "tests/notices/desk_support.h"

namespace rookery::notices {
namespace {

class OwedEndTest : public DeskTest {
 protected:
  OwedEndTest() {
    Mqtt mqtt;
    mqtt.host = "broker.example";
    broker_ = store_.add({0, "broker", true, mqtt}).value().id;
    rule_.receivers = {broker_, first_};
    EXPECT_TRUE(store_.set(rule_));
  }
  std::vector<What> had(std::int64_t receiver) {
    const std::lock_guard lock(outside_.mutex);
    std::vector<What> found;
    for (const Notice& notice : outside_.had[receiver]) found.push_back(notice.what);
    return found;
  }
  using Whats = std::vector<What>;
  std::int64_t broker_ = 0;
};

TEST_F(OwedEndTest, OnlyWhoShowsAStateHearsOfAnEndThatNobodyAskedFor) {
  start();
  desk_->tell(event(1), "Back door", nullptr);
  desk_->tell(event(1, false), "Back door", nullptr);
  desk_->tell(event(1, false), "Back door", nullptr);
  desk_->tell(event(2), "Back door", nullptr);
  ASSERT_TRUE(come(broker_, 3) && come(first_, 2));
  EXPECT_EQ(had(broker_), (Whats{What::begun, What::ended, What::begun}));
  EXPECT_TRUE(outside_.had[broker_][1].motion);
  EXPECT_EQ(outside_.had[broker_][1].title, "Back door");
  EXPECT_EQ(had(first_), (Whats{What::begun, What::begun}));
}

TEST_F(OwedEndTest, OfAnEventThatAKilledStationLeftUnderWayTheNextStartTellsTheEnd) {
  start();
  desk_->tell(event(1), "", nullptr);
  ASSERT_TRUE(come(broker_, 1));
  desk_.reset();
  start();
  ASSERT_TRUE(come(broker_, 2));
  EXPECT_EQ(had(broker_), (Whats{What::begun, What::ended}));
  EXPECT_EQ(outside_.had[broker_][1].camera, "back-door");
  start();  // and once only
  desk_->tell(event(2), "", nullptr);
  ASSERT_TRUE(come(broker_, 3));
  EXPECT_EQ(had(broker_).back(), What::begun);
}

TEST_F(OwedEndTest, OfAnEventOfWhichTheRuleHeldOnlyAtItsEnd) {
  rule_.least_peak = 0.1;
  ASSERT_TRUE(store_.set(rule_));
  start();
  desk_->tell(event(1, false, 0.2), "", nullptr);
  ASSERT_TRUE(come(broker_, 2));
  EXPECT_EQ(had(broker_), (Whats{What::begun, What::ended}));
}

TEST_F(OwedEndTest, ThoughItsRuleWasRemovedInBetween) {
  start();
  desk_->tell(event(1), "", nullptr);
  ASSERT_TRUE(come(broker_, 1));
  ASSERT_TRUE(store_.remove_rule(rule_.id));
  desk_->tell(event(1, false), "", nullptr);
  ASSERT_TRUE(come(broker_, 2));
  EXPECT_EQ(had(broker_).back(), What::ended);
}

TEST_F(OwedEndTest, AReceiverThatWasOffHearsOfItWhenItIsOnAgain) {
  start();
  desk_->tell(event(1), "", nullptr);
  ASSERT_TRUE(come(broker_, 1));
  auto broker = store_.receiver(broker_).value();
  broker.enabled = false;
  ASSERT_TRUE(store_.set(broker, true));
  ASSERT_TRUE(eventually([&] { return !state(broker_); }));
  desk_->tell(event(1, false), "", nullptr);
  desk_->tell(event(2), "", nullptr);
  ASSERT_TRUE(come(first_, 2));
  EXPECT_EQ(outside_.count(broker_), 1u);
  broker.enabled = true;
  ASSERT_TRUE(store_.set(broker, true));
  ASSERT_TRUE(come(broker_, 2));
  EXPECT_EQ(had(broker_).back(), What::ended);
}

// What seemed to move was a lamp coming on: it began as motion, so motion has to end.
TEST_F(OwedEndTest, AStateGoesBackAsItWasSwitched) {
  rule_.causes = {archive::Event::Cause::motion, archive::Event::Cause::lighting};
  ASSERT_TRUE(store_.set(rule_));
  start();
  desk_->tell(event(1), "", nullptr);
  archive::Event lamp = event(1, false);
  lamp.cause = archive::Event::Cause::lighting;
  desk_->tell(lamp, "", nullptr);
  lamp.id = 2;
  desk_->tell(lamp, "", nullptr);
  ASSERT_TRUE(come(broker_, 4));
  std::vector<bool> motion;
  for (const Notice& notice : outside_.had[broker_]) motion.push_back(notice.motion);
  EXPECT_EQ(motion, (std::vector<bool>{true, true, false, false}));
}

TEST_F(OwedEndTest, QuietTimeIsNotLongerForAnEndThatABrokerHad) {
  rule_.quiet = 60s;
  ASSERT_TRUE(store_.set(rule_));
  start();
  desk_->tell(event(1), "", nullptr);
  ASSERT_TRUE(come(broker_, 1));
  clock_.pass(50s);
  desk_->tell(event(1, false), "", nullptr);
  ASSERT_TRUE(come(broker_, 2));
  clock_.pass(15s);
  desk_->tell(event(2), "", nullptr);
  EXPECT_TRUE(come(first_, 2));
}

}  // namespace
}  // namespace rookery::notices
