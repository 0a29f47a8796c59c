#include "vision/seen_values.h"

#include <gtest/gtest.h>

namespace rookery::vision {
namespace {

TEST(SeenValues, WhatWasSeenIsNotNovelNorWhatIsNearIt) {
  SeenValues seen;
  seen.begin(3);
  seen.see(std::vector<std::uint8_t>{10, 100, 200});
  EXPECT_EQ(seen.novel({10, 108, 192}), (CellMask{0, 0, 0}));
  EXPECT_EQ(seen.novel({22, 88, 255}), (CellMask{1, 1, 1}));
  EXPECT_EQ(seen.stills(), 1U);
}

// Between two values that were seen there are others that were not.
TEST(SeenValues, EachValueIsKnownByItself) {
  SeenValues seen;
  seen.begin(1);
  seen.see(std::vector<std::uint8_t>{20});
  seen.see(std::vector<std::uint8_t>{220});
  EXPECT_EQ(seen.novel({20}), CellMask{0});
  EXPECT_EQ(seen.novel({120}), CellMask{1});
  EXPECT_EQ(seen.novel({-5}), CellMask{1});
  EXPECT_EQ(seen.novel({300}), CellMask{1});
}

TEST(SeenValues, WhatIsNotSeenAgainIsForgotten) {
  SeenValues seen;
  seen.begin(1);
  seen.see(std::vector<std::uint8_t>{50});
  for (int i = 1; i < SeenValues::kAges; ++i) seen.grow_older();
  EXPECT_EQ(seen.novel({50}), CellMask{0});
  seen.grow_older();
  EXPECT_EQ(seen.novel({50}), CellMask{1});
}

TEST(SolidPart, LeavesOutSingleCellsAndThinLines) {
  CellMask mask(100, 0);
  mask[0] = 1;                                                // alone
  for (std::size_t y = 0; y < 10; ++y) mask[y * 10 + 3] = 1;  // a line
  for (std::size_t y = 5; y < 9; ++y) {
    for (std::size_t x = 6; x < 10; ++x) mask[y * 10 + x] = 1;  // 4×4
  }
  const CellMask solid = solid_part(mask, 10, 10);
  EXPECT_EQ(count_of(solid), 12U) << "all but the corners";
  EXPECT_EQ(solid[0], 0);
  EXPECT_EQ(solid[33], 0);
  EXPECT_EQ(solid[67], 1);
}

}  // namespace
}  // namespace rookery::vision
