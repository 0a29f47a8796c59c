// What a detector finds, told as events: one id each, on the wall clock, moments joined.
#include "station/event_teller.h"

#include <gtest/gtest.h>

namespace rookery::station {
namespace {

using namespace std::chrono_literals;
using vision::MotionEvent;
using Cause = MotionEvent::Cause;
using What = EventChange::What;

constexpr base::Microseconds kNoon = 100h;  // on the detector's clock

base::WallTime wall(base::Microseconds since_noon) {
  return base::parse_rfc3339("2026-03-01T12:00:00Z").value() + since_noon;
}

MotionEvent motion(base::Microseconds start, base::Microseconds end, double peak = 0.1) {
  return {Cause::motion, kNoon + start, kNoon + end, peak, {8, 6, 16, 12}, 80, 60, kNoon + end};
}
MotionEvent moment(Cause cause, base::Microseconds at) {
  return {cause, kNoon + at, kNoon + at, 1, {0, 0, 80, 60}, 80, 60, kNoon + at};
}

class EventTellerTest : public testing::Test {
 protected:
  // `at`: of the picture; `set_by`: how far the wall clock has been set since noon.
  std::vector<EventChange> tell(const std::optional<MotionEvent>& over,
                                const std::optional<MotionEvent>& under_way, base::Microseconds at,
                                base::Microseconds set_by = 0s) {
    return teller_.tell(over, under_way, kNoon + at, wall(at + set_by));
  }
  std::int64_t last_id_ = 40;
  EventTeller teller_{base::CameraName::parse("anvil").value(), [this] { return ++last_id_; }};
};

TEST_F(EventTellerTest, AnEventBeginsInThePastGrowsAndEnds) {
  auto changes = tell({}, motion(10s, 11s), 11s);
  ASSERT_EQ(changes.size(), 1u);
  EXPECT_EQ(changes[0].what, What::begun);
  EXPECT_EQ(changes[0].event.id, 41);
  EXPECT_EQ(changes[0].event.start, wall(10s));
  EXPECT_TRUE(changes[0].event.under_way);
  EXPECT_DOUBLE_EQ(changes[0].event.region.x, 0.1);

  EXPECT_TRUE(tell({}, motion(10s, 12s), 12s).empty());
  changes = tell({}, motion(10s, 16s), 16s);
  ASSERT_EQ(changes.size(), 1u);
  EXPECT_EQ(changes[0].what, What::grown);
  EXPECT_EQ(changes[0].event.end, wall(16s));

  changes = tell(motion(10s, 17s, 0.3), {}, 22s);
  ASSERT_EQ(changes.size(), 1u);
  EXPECT_EQ(changes[0].what, What::ended);
  EXPECT_EQ(changes[0].event.id, 41);
  EXPECT_EQ(changes[0].event.end, wall(17s));
  EXPECT_EQ(changes[0].event.peak, 0.3);
  EXPECT_FALSE(changes[0].event.under_way);
  EXPECT_FALSE(teller_.under_way().has_value());
  EXPECT_EQ(teller_.ended(), 1u);
}

TEST_F(EventTellerTest, AClockThatIsSetBackDoesNotEndAnEventBeforeItBegan) {
  tell({}, motion(10s, 11s), 11s);
  const auto changes = tell(motion(10s, 15s), {}, 20s, -3600s);
  ASSERT_EQ(changes.size(), 1u);
  EXPECT_EQ(changes[0].event.start, wall(10s));
  EXPECT_EQ(changes[0].event.end, wall(15s));
}

TEST_F(EventTellerTest, WhatSeemedToMoveAndWasALampIsOneEvent) {
  tell({}, motion(10s, 11s), 11s);
  const auto changes = tell(moment(Cause::lighting, 11s), {}, 11s);
  ASSERT_EQ(changes.size(), 1u);
  EXPECT_EQ(changes[0].what, What::ended);
  EXPECT_EQ(changes[0].event.id, 41);
  EXPECT_EQ(changes[0].event.cause, archive::EventCause::lighting);
  EXPECT_EQ(changes[0].event.start, wall(10s));
}

TEST_F(EventTellerTest, ALampBesideWhatMovesIsAnEventOfItsOwn) {
  tell({}, motion(10s, 14s), 14s);
  const auto changes = tell(moment(Cause::lighting, 15s), motion(10s, 15s), 15s);
  ASSERT_GE(changes.size(), 2u);
  EXPECT_EQ(changes[0].what, What::begun);
  EXPECT_EQ(changes[0].event.id, 42);
  EXPECT_EQ(changes[1].what, What::ended);
  EXPECT_EQ(changes[1].event.id, 42);
  ASSERT_TRUE(teller_.under_way().has_value());
  EXPECT_EQ(teller_.under_way()->id, 41);
}

TEST_F(EventTellerTest, MomentsOfOneCauseThatComeCloseTogetherAreOneEvent) {
  EXPECT_EQ(tell(moment(Cause::view, 0s), {}, 0s).size(), 2u);
  for (int i = 1; i <= 5; ++i) {
    const auto changes = tell(moment(Cause::view, i * 20s), {}, i * 20s);
    ASSERT_EQ(changes.size(), 1u);
    EXPECT_EQ(changes[0].what, What::grown);
    EXPECT_EQ(changes[0].event.id, 41);
    EXPECT_EQ(changes[0].event.start, wall(0s));
    EXPECT_EQ(changes[0].event.end, wall(i * 20s));
    EXPECT_FALSE(changes[0].event.under_way);
  }
  EXPECT_EQ(tell(moment(Cause::lighting, 101s), {}, 101s).front().event.id, 42);
  EXPECT_EQ(tell(moment(Cause::lighting, 131s), {}, 131s).front().event.id, 43);
  EXPECT_EQ(teller_.ended(), 3u);
}

TEST_F(EventTellerTest, AnEventThatIsOverAsSoonAsItIsKnownBeginsAndEnds) {
  const auto changes = tell(motion(1s, 4s), {}, 9s);
  ASSERT_EQ(changes.size(), 2u);
  EXPECT_EQ(changes[0].what, What::begun);
  EXPECT_EQ(changes[1].what, What::ended);
  EXPECT_EQ(changes[1].event.start, wall(1s));
  EXPECT_EQ(changes[1].event.end, wall(4s));
}

TEST_F(EventTellerTest, AnEventThatFollowsAtOnceIsAnother) {
  tell({}, motion(0s, 1s), 1s);
  const auto changes = tell(motion(0s, 2s), motion(7s, 8s), 8s);
  ASSERT_EQ(changes.size(), 2u);
  EXPECT_EQ(changes[0].what, What::ended);
  EXPECT_EQ(changes[0].event.id, 41);
  EXPECT_EQ(changes[1].what, What::begun);
  EXPECT_EQ(changes[1].event.id, 42);
}

TEST_F(EventTellerTest, WithoutAnythingNothingIsTold) {
  EXPECT_TRUE(tell({}, {}, 0s).empty());
  EXPECT_EQ(last_id_, 40);
}

}  // namespace
}  // namespace rookery::station
