// Motion in a running station: pictures in, events in the log, recordings around them.
#include "tests/station/running_station.h"

namespace rookery::station {
namespace {

// Pictures come five a second by a clock that the test moves. Picture 0 again and again is a room in which
// nothing moves; others show the square elsewhere.
class EventsTest : public RunningStation {
 protected:
  // Sends one picture and waits until it was looked at.
  void send(const std::vector<std::byte>& jpeg) {
    clock_.pass(200ms);
    const auto before = station_->camera(anvil_)->looked_at;
    ASSERT_TRUE(station_->push(anvil_, jpeg).has_value());
    sent_.emplace_back(clock_.wall(), jpeg);
    ASSERT_TRUE(eventually([&] { return station_->camera(anvil_)->looked_at > before; }));
  }
  void still(base::Seconds time) {
    const auto jpeg = test::make_picture(320, 240, 0);
    for (int i = 0; i < 5 * time.count(); ++i) send(jpeg);
  }
  void moving(base::Seconds time) {
    for (int i = 0; i < 5 * time.count(); ++i)
      send(test::make_picture(320, 240, 2 * static_cast<unsigned>(i) + 5));
  }
  std::vector<archive::Event> log() {
    EXPECT_TRUE(station_->catalog().flush());
    auto page = station_->events().page({});
    EXPECT_TRUE(page.has_value());
    return std::move(page->events);
  }

  std::vector<std::pair<base::WallTime, std::vector<std::byte>>> sent_;
};

TEST_F(EventsTest, WhatMovesIsAnEventWithItsTimeItsPlaceAndItsStill) {
  start(camera::Record::always);
  still(20s);
  const auto began = clock_.wall();
  moving(4s);
  ASSERT_TRUE(station_->camera(anvil_)->event.has_value());
  const auto under_way = log();
  ASSERT_EQ(under_way.size(), 1u);
  EXPECT_TRUE(under_way[0].under_way);
  const auto ended = clock_.wall();
  still(8s);
  EXPECT_FALSE(station_->camera(anvil_)->event.has_value());
  EXPECT_EQ(station_->camera(anvil_)->events_ended, 1u);
  const auto events = log();
  ASSERT_EQ(events.size(), 1u);
  EXPECT_FALSE(events[0].under_way);
  EXPECT_EQ(events[0].id, under_way[0].id);
  EXPECT_EQ(events[0].cause, archive::Event::Cause::motion);
  EXPECT_LE(std::chrono::abs(events[0].start - began), 500ms);
  EXPECT_LE(std::chrono::abs(events[0].end - ended), 1500ms);
  EXPECT_GT(events[0].peak, 0.01);
  EXPECT_TRUE(events[0].has_still);
}

TEST_F(EventsTest, AroundEventsAreRecordedThePreRollTheEventAndThePostRollByteForByte) {
  start(camera::Record::events);
  still(20s);
  EXPECT_TRUE(recorded().empty());
  EXPECT_GT(station_->camera(anvil_)->pre_roll.bytes, 0u);
  EXPECT_LE(station_->camera(anvil_)->pre_roll.covers, 6s);
  moving(4s);
  still(20s);
  const auto events = log();
  ASSERT_EQ(events.size(), 1u);
  // The segment is closed: the next frames go to memory again.
  std::vector<archive::Segment> segments;
  ASSERT_TRUE(eventually([&] {
    EXPECT_TRUE(station_->catalog().flush());
    segments = station_->segments().between(anvil_, base::WallTime{}, clock_.wall()).value();
    return segments.size() == 1 && !segments[0].open;
  }));
  const auto from = events[0].start - 2s;
  const auto until = events[0].end + 3s;
  std::vector<std::pair<base::WallTime, std::vector<std::byte>>> wanted;
  for (const auto& [at, jpeg] : sent_) {
    if (at >= from && at <= until)
      wanted.emplace_back(std::chrono::floor<std::chrono::milliseconds>(at), jpeg);
  }
  EXPECT_EQ(recorded(), wanted);
  EXPECT_TRUE(events[0].has_still);
}

TEST_F(EventsTest, EventsWhoseRollsOverlapAreOneRecording) {
  start(camera::Record::events);
  auto longer = settings(camera::Record::events);
  longer.post_roll = 5s;
  ASSERT_TRUE(station_->set(longer).has_value());
  still(20s);
  moving(3s);
  still(6s);  // the event ends after 5 s
  moving(3s);
  still(20s);
  EXPECT_EQ(log().size(), 2u);
  const auto frames = recorded();
  for (std::size_t i = 1; i < frames.size(); ++i)
    EXPECT_EQ(frames[i].first - frames[i - 1].first, 200ms) << i;
}

TEST_F(EventsTest, NeverIsNeverAndTheLogSaysWhatHappenedAllTheSame) {
  start(camera::Record::never);
  still(20s);
  moving(3s);
  still(8s);
  const auto events = log();
  ASSERT_EQ(events.size(), 1u);
  EXPECT_FALSE(events[0].has_still);
  EXPECT_TRUE(recorded().empty());
}

TEST_F(EventsTest, WhatTheMaskCoversIsNoEvent) {
  start(camera::Record::never);
  auto masked = settings(camera::Record::never);
  masked.mask = vision::Mask::make(1, 1, 320, 240, {true}).value();
  ASSERT_TRUE(station_->set(masked).has_value());
  still(20s);
  moving(4s);
  still(8s);
  EXPECT_TRUE(log().empty());
}

TEST_F(EventsTest, AClockSetBackLeavesAnEventItsLength) {
  start(camera::Record::never);
  still(20s);
  moving(2s);
  const auto began = clock_.wall();
  clock_.set_wall(began - 1h);
  moving(2s);
  still(8s);
  const auto events = log();
  ASSERT_EQ(events.size(), 1u);
  EXPECT_GT(events[0].end, events[0].start);
  EXPECT_LT(events[0].end - events[0].start, 8s);
}

TEST_F(EventsTest, AnEventOfACameraThatStopsSendingEnds) {
  start(camera::Record::never);
  still(20s);
  moving(3s);
  ASSERT_TRUE(station_->camera(anvil_)->event.has_value());
  clock_.pass(10s);
  EXPECT_TRUE(eventually([&] { return !station_->camera(anvil_)->event.has_value(); }));
  EXPECT_FALSE(log().front().under_way);
}

TEST_F(EventsTest, ARestartKeepsWhatWasLearnedAndTheLogGoesOn) {
  start(camera::Record::never);
  still(20s);
  moving(3s);
  station_.reset();  // in the middle of it
  clock_.pass(1min);
  start();
  auto events = log();
  ASSERT_EQ(events.size(), 1u);
  EXPECT_FALSE(events[0].under_way);
  still(10s);
  EXPECT_EQ(log().size(), 1u);  // coming back is no event
  moving(3s);
  still(8s);
  events = log();
  ASSERT_EQ(events.size(), 2u);
  EXPECT_GT(events[0].id, events[1].id);
}

TEST_F(EventsTest, ACameraThatIsRemovedEndsItsEvent) {
  start(camera::Record::events);
  still(20s);
  moving(3s);
  ASSERT_TRUE(station_->camera(anvil_)->event.has_value());
  ASSERT_TRUE(station_->remove(anvil_).has_value());
  ASSERT_EQ(log().size(), 1u);
  EXPECT_FALSE(log()[0].under_way);
}

TEST_F(EventsTest, APictureOfAnotherSizeEndsTheEvent) {
  start(camera::Record::never);
  still(20s);
  moving(3s);
  ASSERT_TRUE(station_->camera(anvil_)->event.has_value());
  send(test::make_picture(640, 480, 0));
  EXPECT_FALSE(station_->camera(anvil_)->event.has_value());
}

}  // namespace
}  // namespace rookery::station
