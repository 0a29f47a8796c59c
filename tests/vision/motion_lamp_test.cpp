// What is told while light changes.
#include "tests/vision/motion_watching.h"

namespace rookery::vision {
namespace {

using test::kHeight;
using test::kWidth;
using test::MotionTest;
using test::Sight;
using Cause = MotionEvent::Cause;

// What was learned while they were still in the picture left their opposite behind, for seconds.
TEST_F(MotionTest, HeadLightsThatPassLeaveNothingBehind) {
  watch(60);
  for (int i = 0; i < 3; ++i) {
    // A lamp goes on as they come: all is learned anew.
    watch(6, [](double s) { return Sight{.lamp = 1.6, .beam = -0.3 + 1.6 * s / 6}; });
    watch(30, [](double) { return Sight{.lamp = 1.6}; });
    watch(30);
  }
  EXPECT_TRUE(motions().empty());
}

TEST_F(MotionTest, ALampIsSaidToBeALamp) {
  watch(30);
  watch(20, [](double) { return Sight{.gain = 0.9, .lamp = 0.5}; });
  watch(20);
  EXPECT_TRUE(motions().empty());
  EXPECT_GE(std::ranges::count(events, Cause::lighting, &MotionEvent::cause), 1);
}

// Nothing was looked for until all was learned anew, and who stood still by then was part of the picture.
TEST_F(MotionTest, WhoComesWithALightIsFoundFromWhenItWasSwitched) {
  watch(60);
  const auto before = now;
  watch(30, [](double s) {
    return Sight{.x = 10 + 8 * std::min(s, 2.2), .y = 24, .width = 8, .height = 16, .lamp = 1.6};
  });
  const auto found = motions();
  ASSERT_EQ(found.size(), 1u);
  EXPECT_NEAR(std::chrono::duration<double>(found[0].start - before).count(), 0.2, 0.21);
  EXPECT_GE(std::ranges::count(events, Cause::lighting, &MotionEvent::cause), 1);
}

TEST_F(MotionTest, ALampThatNeedsSecondsToComeOnIsNoMotion) {
  watch(60);
  for (const double seconds : {0.6, 1.2, 2.0, 4.0}) {
    watch(20, [&](double s) { return Sight{.lamp = 1 + 0.8 * std::min(s / seconds, 1.0)}; });
    watch(20);
  }
  EXPECT_TRUE(motions().empty());
}

MotionFrame moving(int tenths, unsigned cells) {
  MotionFrame frame{.at = std::chrono::milliseconds{100 * tenths}, .moving_cells = cells, .now_cells = cells};
  if (cells > 0)
    frame.regions.push_back({.box = {10, 10, 10, 10}, .cells = cells, .began = frame.at, .counts = true});
  return frame;
}

MotionFrame switched(int tenths) {
  MotionFrame frame = moving(tenths, 0);
  frame.light = MotionFrame::Light::switched;
  frame.dazzled = true;
  return frame;
}

TEST(MotionEventsTest, ALampInThePictureThatEndsAnEventIsToldWithTheNext) {
  MotionEvents gatherer;
  for (int i = 0; i < 20; i += 2) EXPECT_FALSE(gatherer.add(moving(i, 100), kWidth, kHeight));
  const auto first = gatherer.add(switched(68), kWidth, kHeight);
  ASSERT_TRUE(first.has_value());
  EXPECT_EQ(first->cause, Cause::motion);
  const auto second = gatherer.add(moving(70, 0), kWidth, kHeight);
  ASSERT_TRUE(second.has_value());
  EXPECT_EQ(second->cause, Cause::lighting);
  EXPECT_EQ(second->start, switched(68).at);
  EXPECT_FALSE(gatherer.add(moving(72, 0), kWidth, kHeight));
  EXPECT_FALSE(gatherer.finish());
}

// What a light was taken for before it was known for one is no evidence of what comes after it.
TEST(MotionEventsTest, WhatMovedBeforeALampDoesNotMakeAnEventOfOnePictureAfterIt) {
  MotionEvents gatherer;
  for (int i = 0; i < 40; i += 2) gatherer.add(moving(i, 2000), kWidth, kHeight);
  gatherer.add(switched(40), kWidth, kHeight);
  for (int i = 42; i < 110; i += 2) gatherer.add(moving(i, i == 104 ? 25 : 0), kWidth, kHeight);
  EXPECT_FALSE(gatherer.under_way());
}

TEST(MotionEventsTest, WhatMovesLongAfterALampBeginsWhenItIsSeen) {
  MotionEvents gatherer;
  gatherer.add(switched(0), kWidth, kHeight);
  for (int i = 20; i < 60; i += 2) gatherer.add(moving(i, 100), kWidth, kHeight);
  const auto event = gatherer.finish();
  ASSERT_TRUE(event.has_value());
  EXPECT_EQ(event->start, moving(20, 100).at);
}

}  // namespace
}  // namespace rookery::vision
