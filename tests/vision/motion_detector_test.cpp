// What is an event and what is none, in views that a test makes up. Against scenes: bench/motion.
#include "vision/motion_detector.h"

#include <gtest/gtest.h>

#include "tests/vision/motion_watching.h"

namespace rookery::vision {
namespace {

using std::chrono::milliseconds;
using test::kHeight;
using test::kWidth;
using test::Sight;
using Cause = MotionEvent::Cause;

using test::MotionTest;

TEST_F(MotionTest, AStillViewIsNoEvent) {
  watch(120);
  EXPECT_TRUE(motions().empty());
  EXPECT_EQ(most_energy, 0);
}

TEST_F(MotionTest, WhoWalksThroughIsOneEventWithItsTimesAndPlace) {
  watch(20);
  const auto before = now;
  watch(6, crossing(6));
  const auto after = now;
  watch(20);
  const auto found = motions();
  ASSERT_EQ(found.size(), 1u);
  EXPECT_NEAR(std::chrono::duration<double>(found[0].start - before).count(), 0, 0.81);
  EXPECT_NEAR(std::chrono::duration<double>(found[0].end - after).count(), 0, 0.81);
  EXPECT_LE(found[0].box.x, 2);
  EXPECT_GE(found[0].box.x + found[0].box.width, kWidth - 2);
  EXPECT_NEAR(found[0].box.y, 30, 1);
  EXPECT_NEAR(found[0].box.height, 14, 2);
  EXPECT_NEAR(found[0].peak, 8.0 * 14 / (kWidth * kHeight), 0.02);
  EXPECT_GT(found[0].best_at, found[0].start);
  EXPECT_LE(found[0].best_at, found[0].end);
}

// Its middle goes from 0.6 widths left of the picture to as far right of it.
double cloud_at(double s, double seconds) { return -0.6 + 2.2 * s / seconds; }

TEST_F(MotionTest, TheShadowOfACloudIsNoMotion) {
  watch(20);
  for (const double seconds : {6.0, 12.0, 25.0, 60.0}) {
    watch(seconds, [&](double s) { return Sight{.shadow = cloud_at(s, seconds)}; });
    watch(20);
  }
  EXPECT_TRUE(motions().empty());
}

TEST_F(MotionTest, WhoWalksUnderACloudIsFound) {
  watch(60);
  watch(25, [&](double s) {
    Sight sight;
    if (s >= 10 && s < 18) sight = crossing(8)(s - 10);
    sight.shadow = cloud_at(s, 25);
    return sight;
  });
  watch(20);
  EXPECT_EQ(motions().size(), 1u);
}

// People in dark clothes were learned as what usually happens there, and who is in pale ones was passed over.
TEST_F(MotionTest, WhoPassesInTheFirstMinuteDoesNotHideWhoComesLater) {
  watch(4);
  for (int i = 0; i < 6; ++i) {
    watch(5, crossing(5));
    watch(4);
  }
  watch(10);
  const auto before = motions().size();
  watch(6, [](double s) {
    Sight sight = crossing(6)(s);
    sight.faint = 12;
    return sight;
  });
  watch(10);
  EXPECT_EQ(motions().size(), before + 1);
}

TEST_F(MotionTest, AClippedWindowThatIsExposedLessIsNoMotion) {
  view.window = 300;
  watch(60);
  for (int i = 0; i < 3; ++i) {
    watch(20, [](double) { return Sight{.gain = 0.8}; });
    watch(20);
  }
  EXPECT_TRUE(motions().empty());
}

// As banding where half of a row is hidden, or the sun through a blind.
TEST_F(MotionTest, AStripeOfLightThatWandersIsNoMotion) {
  watch(60);
  watch(10, [](double s) { return Sight{.stripe = 10 + 3 * s}; });
  watch(10);
  EXPECT_TRUE(motions().empty());
}

// One picture of a wide light is as much as a second of somebody.
TEST_F(MotionTest, ALightThatShimmersInOnePictureOfFourIsNoMotion) {
  watch(60);
  watch(10, [](double s) {
    const bool fourth = std::lround(s * 5) % 4 == 3;
    return Sight{.stripe = 10 + 3 * s, .shimmer = fourth ? 8.0 : 0.0};
  });
  watch(10);
  EXPECT_TRUE(motions().empty());
}

TEST_F(MotionTest, AThingThatStaysBecomesPartOfThePicture) {
  watch(20);
  const auto comes = [](double s) {
    return Sight{.x = std::min(10 + 6 * s, 40.0), .y = 20, .width = 8, .height = 8};
  };
  watch(60, comes);
  const auto found = motions();
  ASSERT_EQ(found.size(), 1u);
  EXPECT_LT(found[0].end - found[0].start, std::chrono::seconds{12});
}

TEST_F(MotionTest, ExposureThatDriftsAndBandingAreNone) {
  watch(20);
  watch(120,
        [](double s) { return Sight{.gain = 1 + 0.2 * std::sin(s / 8), .band = 0.05, .band_phase = s * 3}; });
  EXPECT_TRUE(motions().empty());
}

TEST_F(MotionTest, SomebodyUnderDriftingLightIsFoundAllTheSame) {
  watch(20);
  watch(8, [](double s) {
    Sight sight = crossing(8)(s);
    sight.gain = 1 + 0.15 * std::sin(s);
    return sight;
  });
  watch(10);
  EXPECT_EQ(motions().size(), 1u);
}

TEST_F(MotionTest, WhatTheFirstVersionSavedIsRestoredAndNeitherIsTakenForTheOther) {
  watch(60, printing);
  auto saved = detector.save();
  // Version 1 had five bytes a cell.
  constexpr std::size_t kHead = 22;
  std::vector<std::byte> old(saved.begin(), saved.begin() + kHead);
  old[4] = std::byte{1};
  for (std::size_t at = kHead; at < saved.size(); at += 7)
    old.insert(old.end(), saved.begin() + static_cast<std::ptrdiff_t>(at),
               saved.begin() + static_cast<std::ptrdiff_t>(at + 5));
  detector = MotionDetector();
  ASSERT_TRUE(detector.restore(old).has_value());
  const auto again = detector.save();
  ASSERT_EQ(again.size(), saved.size());
  for (std::size_t at = kHead; at < saved.size(); at += 7) {
    ASSERT_TRUE(std::equal(again.begin() + static_cast<std::ptrdiff_t>(at),
                           again.begin() + static_cast<std::ptrdiff_t>(at + 5),
                           saved.begin() + static_cast<std::ptrdiff_t>(at)));
    ASSERT_EQ(again[at + 5], std::byte{0});
    ASSERT_EQ(again[at + 6], std::byte{0});
  }
  old[4] = std::byte{2};
  saved[4] = std::byte{1};
  EXPECT_FALSE(MotionDetector().restore(old).has_value());
  EXPECT_FALSE(MotionDetector().restore(saved).has_value());
  saved[4] = std::byte{0};
  EXPECT_FALSE(MotionDetector().restore(saved).has_value());
}

// What was taken out of a row was never learned, until it was more than a band can be.
TEST_F(MotionTest, LightThatSlowlyChangesRowByRowIsFollowed) {
  watch(20);
  watch(300, [](double s) { return Sight{.band = 0.15 * std::min(s / 250, 1.0)}; });
  EXPECT_TRUE(motions().empty());
  EXPECT_EQ(most_energy, 0);
}

// As an insect at the lens: somewhere else in every picture.
TEST_F(MotionTest, WhatIsNowhereTwiceIsNone) {
  watch(20);
  std::mt19937 random(5);
  watch(120, [&](double) {
    return Sight{.x = static_cast<double>(random() % 70),
                 .y = static_cast<double>(random() % 50),
                 .width = 4,
                 .height = 4};
  });
  EXPECT_TRUE(motions().empty());
}

// A leaf of a plant: it is hardly larger than the least, trembles where it is, and comes back.
TEST_F(MotionTest, WhatIsHardlyLargerThanTheLeastMustGoSomewhere) {
  const auto turns = [](double s) {
    return Sight{.x = 30 + 0.4 * std::sin(3 * s), .y = 30, .width = 5.5, .height = 4};
  };
  watch(20);
  watch(5, turns);
  watch(20);
  EXPECT_TRUE(motions().empty());
  watch(6, crossing(6, 5.5, 4));
  watch(20);
  EXPECT_EQ(motions().size(), 1u);
}

TEST_F(MotionTest, SensitivityIsTheSizeThatCounts) {
  const auto finds = [&](int step, double side) {
    detector = MotionDetector({step});
    gatherer = MotionEvents({step});
    events.clear();
    watch(20);
    watch(8, crossing(8, side, side));
    watch(10);
    return !motions().empty();
  };
  EXPECT_FALSE(finds(Sensitivity::kCoarsest, 6));  // 0.75 % of the picture
  EXPECT_TRUE(finds(Sensitivity::kMiddle, 6));
  EXPECT_FALSE(finds(Sensitivity::kMiddle, 3));  // 0.19 %
  EXPECT_TRUE(finds(Sensitivity::kFinest, 3));
}

TEST_F(MotionTest, WhatIsUnderTheMaskIsNotLookedAt) {
  std::vector<bool> lower(8 * 6, false);
  for (std::size_t i = 8 * 3; i < lower.size(); ++i) lower[i] = true;
  detector.set({}, Mask::make(8, 6, 640, 480, lower).value());
  watch(20);
  watch(6, crossing(6));  // in rows 30 to 44 of 60
  watch(10);
  EXPECT_TRUE(motions().empty());
  detector.set({}, {});
  watch(6, crossing(6));
  watch(10);
  EXPECT_EQ(motions().size(), 1u);
}

TEST_F(MotionTest, AJumpToAnotherSceneIsSaidAndIsNoMotion) {
  watch(30);
  view = test::View(77);
  watch(30);
  EXPECT_TRUE(motions().empty());
  EXPECT_GE(std::ranges::count(events, Cause::view, &MotionEvent::cause), 1);
}

TEST_F(MotionTest, AnotherPictureSizeBeginsAnew) {
  watch(20);
  jpeg::LumaGrid small;
  small.width = 40;
  small.height = 30;
  small.cells.assign(40 * 30, 90);
  now += milliseconds{200};
  EXPECT_EQ(detector.add(small, now).moving_cells, 0u);
  watch(20);
  EXPECT_TRUE(motions().empty());
}

TEST_F(MotionTest, WhatComesOutOfOrderOrDamagedIsPassedOver) {
  watch(20);
  jpeg::LumaGrid grey = view.see({});
  std::ranges::fill(grey.cells, std::uint8_t{128});
  EXPECT_EQ(detector.add(grey, now - milliseconds{400}).energy, 0);
  EXPECT_EQ(detector.add(grey, now).energy, 0);
  grey.damaged = true;
  now += milliseconds{200};
  EXPECT_EQ(detector.add(grey, now).energy, 0);
  grey.damaged = false;
  grey.cells.pop_back();
  now += milliseconds{200};
  EXPECT_EQ(detector.add(grey, now).energy, 0);
  watch(20);
  EXPECT_TRUE(motions().empty());
}

TEST_F(MotionTest, ARestartWithWhatWasLearnedIsNoEventAndNeedsNoLearning) {
  const auto sways = [](double s) {
    return Sight{.x = 30 + 3 * std::sin(3 * s), .y = 20, .width = 10, .height = 10};
  };
  watch(240, sways);
  const auto saved = detector.save();
  detector = MotionDetector();
  gatherer = MotionEvents();
  ASSERT_TRUE(detector.restore(saved).has_value());
  EXPECT_EQ(detector.save(), saved);
  events.clear();
  now = base::Microseconds{0};  // the clock of another run
  watch(60, sways);
  EXPECT_TRUE(motions().empty());
  watch(6, crossing(6));
  EXPECT_EQ(motions().size(), 1u);
}

TEST_F(MotionTest, WhatIsNotItsOwnIsNotRestored) {
  watch(10);
  const auto saved = detector.save();
  for (std::size_t length = 0; length < std::min<std::size_t>(saved.size(), 64); ++length)
    EXPECT_FALSE(MotionDetector().restore(std::span(saved).first(length)).has_value()) << length;
  auto other = saved;
  other[0] = std::byte{0};
  EXPECT_EQ(MotionDetector().restore(other).error().code, base::ErrorCode::malformed);
  other = saved;
  other[4] = std::byte{9};
  EXPECT_EQ(MotionDetector().restore(other).error().code, base::ErrorCode::newer_version);
}

}  // namespace
}  // namespace rookery::vision
