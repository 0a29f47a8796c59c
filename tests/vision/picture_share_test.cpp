#include "vision/picture_share.h"

#include <gtest/gtest.h>

namespace rookery::vision {
namespace {

TEST(PictureShare, IsTheBoxOverTheGrid) {
  EXPECT_EQ(share_of({20, 15, 40, 30}, 80, 60), (PictureShare{0.25, 0.25, 0.5, 0.5}));
  EXPECT_EQ(share_of({0, 0, 80, 60}, 80, 60), (PictureShare{0, 0, 1, 1}));
  EXPECT_EQ(share_of({}, 80, 60), PictureShare{});
  EXPECT_EQ(share_of({1, 1, 2, 2}, 0, 0), PictureShare{});
}

TEST(PictureShare, WordsGoByThirdsAndByWhatIsLong) {
  EXPECT_EQ(words_for({0, 0, 0.2, 0.2}), "upper left");
  EXPECT_EQ(words_for({0.4, 0.4, 0.2, 0.2}), "centre");
  EXPECT_EQ(words_for({0.1, 0.8, 0.1, 0.2}), "lower left");
  EXPECT_EQ(words_for({0.8, 0.4, 0.2, 0.2}), "right");
  EXPECT_EQ(words_for({0, 0.7, 1, 0.3}), "lower part");
  EXPECT_EQ(words_for({0.8, 0, 0.2, 0.9}), "right side");
  EXPECT_EQ(words_for({0, 0, 1, 1}), "whole picture");
  EXPECT_EQ(words_for({}), "") << "no place is known: not the upper left one";
}

}  // namespace
}  // namespace rookery::vision
