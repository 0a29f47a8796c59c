// Masks: painted on one size, laid over another, written and read again.
#include "vision/mask.h"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

namespace rookery::vision {
namespace {

TEST(Mask, CoversTheShareOfThePictureThatItWasPaintedOn) {
  std::vector<bool> right_half;
  for (int y = 0; y < 6; ++y)
    for (int x = 0; x < 8; ++x) right_half.push_back(x >= 4);
  const Mask mask = Mask::make(8, 6, 640, 480, right_half).value();
  for (const auto& [width, height] :
       std::vector<std::pair<int, int>>{{80, 60}, {200, 150}, {4, 3}, {81, 61}}) {
    const auto over = mask.over(width, height);
    ASSERT_EQ(over.size(), static_cast<std::size_t>(width * height));
    EXPECT_EQ(over[0], 0);
    EXPECT_EQ(over[static_cast<std::size_t>(width - 1)], 1);
    const auto covered = std::ranges::count(over, std::uint8_t{1});
    EXPECT_NEAR(static_cast<double>(covered) / static_cast<double>(over.size()), 0.5, 0.02);
  }
}

TEST(Mask, OfNothingIsEmpty) {
  EXPECT_TRUE(Mask::make(4, 3, 640, 480, std::vector<bool>(12, false)).value().empty());
  EXPECT_EQ(Mask().text(), "");
  EXPECT_TRUE(Mask::parse("").value().empty());
  EXPECT_EQ(Mask().over(3, 2), std::vector<std::uint8_t>(6, 0));
}

TEST(Mask, RefusesSizesThatAreNone) {
  EXPECT_EQ(Mask::make(0, 3, 640, 480, {}).error().code, base::ErrorCode::invalid_value);
  EXPECT_EQ(Mask::make(513, 1, 640, 480, std::vector<bool>(513)).error().code,
            base::ErrorCode::invalid_value);
  EXPECT_EQ(Mask::make(2, 2, 0, 480, std::vector<bool>(4)).error().code, base::ErrorCode::invalid_value);
  EXPECT_EQ(Mask::make(2, 2, 640, 480, std::vector<bool>(5)).error().code, base::ErrorCode::invalid_value);
}

TEST(Mask, IsWrittenInRuns) {
  EXPECT_EQ(Mask::make(3, 2, 640, 480, {false, true, true, false, false, true}).value().text(),
            "3x2@640x480:1,2,2,1");
  EXPECT_EQ(Mask::make(2, 1, 640, 480, {true, false}).value().text(), "2x1@640x480:0,1,1");
}

TEST(Mask, WhatIsNoMaskIsRefused) {
  for (const char* text :
       {"x", "3x2", "3x2@640x480", "3x2@640x480:", "3x2@640x480:7", "3x2@640x480:1,2,2", "3x2@640x480:1;5",
        "3x2@640x480:-1,7", "3x2@640x480:6,", "9999x2@640x480:1", "3x2@640x480:1,99999999999999999999"})
    EXPECT_FALSE(Mask::parse(text).has_value()) << text;
}

RC_GTEST_PROP(Mask, ReadsWhatItWrote, ()) {
  const int columns = *rc::gen::inRange(1, 40);
  const int rows = *rc::gen::inRange(1, 40);
  const auto cells = *rc::gen::container<std::vector<bool>>(static_cast<std::size_t>(columns * rows),
                                                            rc::gen::arbitrary<bool>());
  const Mask mask = Mask::make(columns, rows, 640, 480, cells).value();
  RC_ASSERT(Mask::parse(mask.text()).value() == mask);
}

}  // namespace
}  // namespace rookery::vision
