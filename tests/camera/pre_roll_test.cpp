// The last seconds of a camera in memory: both bounds hold, and what is taken is taken once.
#include "camera/pre_roll.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace rookery::camera {
namespace {

using namespace std::chrono_literals;

base::MonoTime at(std::chrono::milliseconds since) { return base::MonoTime{} + 1h + since; }

FramePtr frame(std::chrono::milliseconds since, std::size_t bytes = 100) {
  return std::make_shared<const Frame>(std::vector<std::byte>(bytes), base::WallTime{}, at(since), 1,
                                       PixelSize{});
}

TEST(PreRoll, OlderThanItsLengthGo) {
  PreRoll roll;
  roll.set(1s, 1000);
  for (int i = 0; i <= 5; ++i) roll.add(frame(i * 400ms));
  EXPECT_EQ(roll.frames(), 3u);
  EXPECT_EQ(roll.covers(), 800ms);
  EXPECT_EQ(roll.bytes(), 300u);
}

TEST(PreRoll, TheOldestGoWhereBytesAreMany) {
  PreRoll roll;
  roll.set(10s, 250);
  for (int i = 0; i < 4; ++i) roll.add(frame(i * 100ms));
  EXPECT_EQ(roll.frames(), 2u);
  roll.add(frame(400ms, 251));  // alone too large
  EXPECT_EQ(roll.frames(), 0u);
  EXPECT_EQ(roll.bytes(), 0u);
  roll.add(frame(500ms));
  roll.set(10s, 99);
  EXPECT_EQ(roll.frames(), 0u);
}

TEST(PreRoll, WhatIsTakenIsTheSpanWithBothItsEnds) {
  PreRoll roll;
  roll.set(10s, 1000);
  for (int i = 0; i < 6; ++i) roll.add(frame(i * 100ms));
  const auto taken = roll.take(at(100ms), at(300ms));
  ASSERT_EQ(taken.size(), 3u);
  EXPECT_EQ(taken.front()->arrived_mono, at(100ms));
  EXPECT_EQ(taken.back()->arrived_mono, at(300ms));
  EXPECT_EQ(roll.frames(), 3u);  // 0, 400 and 500
  EXPECT_EQ(roll.bytes(), 300u);
  EXPECT_TRUE(roll.take(at(100ms), at(300ms)).empty());
  EXPECT_TRUE(roll.take(at(500ms), at(100ms)).empty());
}

// Law: whatever comes, neither bound is broken, and the sum is that of the frames.
RC_GTEST_PROP(PreRollLaw, BoundsHold, ()) {
  PreRoll roll;
  const auto most = static_cast<std::size_t>(*rc::gen::inRange(0, 500));
  roll.set(1s, most);
  std::chrono::milliseconds now{0};
  for (const int bytes : *rc::gen::container<std::vector<int>>(rc::gen::inRange(1, 200))) {
    now += std::chrono::milliseconds(*rc::gen::inRange(0, 600));
    roll.add(frame(now, static_cast<std::size_t>(bytes)));
    RC_ASSERT(roll.bytes() <= most);
    RC_ASSERT(roll.covers() <= 1s);
  }
  std::size_t sum = 0;
  const std::size_t before = roll.bytes();
  for (const FramePtr& one : roll.take(at(0ms), at(now))) sum += one->bytes.size();
  RC_ASSERT(sum == before);
  RC_ASSERT(roll.bytes() == 0u);
}

}  // namespace
}  // namespace rookery::camera
