// What a still shows that the work has not shown lately.
#include "vision/scene_news.h"

#include <gtest/gtest.h>

#include <random>

#include "vision/job_state.h"

namespace rookery::vision {
namespace {

constexpr int kWidth = 80;
constexpr int kHeight = 60;
constexpr SceneNews::Lasting kSixOfEight{.of = 8, .count = 6, .working = 5};

class SceneNewsTest : public testing::Test {
 protected:
  SceneNewsTest() { news.begin(kWidth, kHeight); }
  // A wall with some pattern and noise; `thing`: a bright square with its corner there, none below 0.
  Cells picture(int thing_x = -1, int thing_y = -1) {
    Cells cells;
    for (int y = 0; y < kHeight; ++y) {
      for (int x = 0; x < kWidth; ++x) {
        const bool in = thing_x >= 0 && x >= thing_x && x < thing_x + 12 && y >= thing_y && y < thing_y + 12;
        const double wall = 90 + 40 * ((x / 6 + y / 8) % 2);
        cells.push_back(static_cast<float>(in ? 220 : wall) + static_cast<float>(random_() % 3));
      }
    }
    return cells;
  }
  void look(const Cells& flat, bool works = true, bool learn = true, float light = 1) {
    news.look({.flat = flat, .light = light, .works = works, .in_usual_place = works, .learn = learn});
  }
  void learn_wall(int looks = 100) {
    for (int i = 0; i < looks; ++i) look(picture());
  }
  SceneNews news;

 private:
  std::mt19937 random_{11};
};

TEST_F(SceneNewsTest, AWallThatStaysIsNoNews) {
  for (int i = 0; i < 300; ++i) {
    look(picture());
    EXPECT_EQ(news.share(), 0) << i;
  }
}

TEST_F(SceneNewsTest, AThingThatComesIsNewWhereItIs) {
  learn_wall();
  look(picture(40, 24));
  EXPECT_GT(news.share(), 0.02);
  EXPECT_LT(news.share(), 0.08);
  const CellBox where = news.where();
  EXPECT_NEAR(where.x, 40, 4);
  EXPECT_NEAR(where.y, 24, 4);
  EXPECT_NEAR(where.x + where.width, 52, 4);
  EXPECT_EQ(news.lasting_share(kSixOfEight), 0) << "seen once";
  for (int i = 0; i < 5; ++i) look(picture(40, 24));
  EXPECT_GT(news.lasting_share(kSixOfEight), 0.02);
}

TEST_F(SceneNewsTest, WhatStaysIsKnownAfterAWhileUnlessItIsNotLearned) {
  learn_wall();
  for (int i = 0; i < 20; ++i) look(picture(40, 24), true, false);
  EXPECT_GT(news.share(), 0.02);
  for (int i = 0; i < 20; ++i) look(picture(40, 24));
  EXPECT_EQ(news.share(), 0);
}

TEST_F(SceneNewsTest, WhatWasSeenLongAgoIsNewAgain) {
  for (int i = 0; i < 40; ++i) look(picture(40, 24));
  learn_wall(400);
  look(picture(40, 24));
  EXPECT_GT(news.share(), 0);
}

TEST_F(SceneNewsTest, WithoutWorkNothingLasts) {
  learn_wall();
  for (int i = 0; i < 10; ++i) look(picture(40, 24), false);
  EXPECT_GT(news.share(), 0);
  EXPECT_EQ(news.lasting_share(kSixOfEight), 0);
}

TEST_F(SceneNewsTest, WhoComesInFromTheEdgeHidesTheNews) {
  learn_wall();
  look(picture(0, 24));
  EXPECT_EQ(news.share(), 0);
}

TEST_F(SceneNewsTest, WhatLiesStillAtTheLowerEdgeIsNoArm) {
  learn_wall();
  look(picture(40, 46));
  EXPECT_EQ(news.share(), 0) << "it has just come: it may be an arm";
  for (int i = 0; i < 6; ++i) {
    look(picture(40, 46));
    EXPECT_GT(news.share(), 0.02) << i;
    EXPECT_TRUE(news.lies_at_edge());
  }
  look(picture(46, 46));
  EXPECT_EQ(news.share(), 0) << "it moves";
}

// Nothing else would be seen for as long as somebody watches, or a lamp's shadow reaches to the edge.
TEST_F(SceneNewsTest, WhoStandsStillAtTheSideIsNotToldAndKnownAfterAWhile) {
  learn_wall();
  const auto with_watcher = [](Cells cells) {
    for (int y = 10; y < kHeight; ++y) {
      for (int x = 0; x < 10; ++x) cells[static_cast<std::size_t>(y * kWidth + x)] = 30;
    }
    return cells;
  };
  for (int i = 0; i < 20; ++i) {
    look(with_watcher(picture()));
    EXPECT_EQ(news.share(), 0) << i;
  }
  look(with_watcher(picture(40, 24)));
  EXPECT_GT(news.share(), 0.02);
}

TEST_F(SceneNewsTest, AfterALampNothingIsNewForAMoment) {
  learn_wall();
  look(picture(40, 24), true, true, 0.6F);
  EXPECT_EQ(news.share(), 0);
  Cells by(static_cast<std::size_t>(kWidth * kHeight), 30);
  news.relight(by);
  Cells lit = picture();
  for (float& cell : lit) cell += 30;
  for (int i = 0; i < 20; ++i) {
    look(lit);
    EXPECT_EQ(news.share(), 0) << i;
  }
}

// No more work for a board of two million pixels than for a small one.
TEST_F(SceneNewsTest, AnySizeIsSeenInAsManyBlocks) {
  for (const auto& [width, height] :
       {std::pair{200, 150}, {160, 90}, {81, 61}, {40, 30}, {7, 5}, {1, 1}, {0, 0}}) {
    SceneNews one;
    one.begin(width, height);
    EXPECT_TRUE(one.fits(width, height));
    const Cells grey(static_cast<std::size_t>(width * height), 100);
    for (int i = 0; i < 100; ++i) one.look({.flat = grey, .works = true, .in_usual_place = true});
    Cells changed = grey;
    for (int y = height / 3; y < height / 2; ++y) {
      for (int x = width / 3; x < width / 2; ++x) changed[static_cast<std::size_t>(y * width + x)] = 200;
    }
    one.look({.flat = changed, .works = true, .in_usual_place = true});
    EXPECT_EQ(one.share() > 0, width >= 40) << width;
    StateWriter out;
    one.visit(out);
    EXPECT_LT(out.take().size(), 300'000U);
  }
}

TEST_F(SceneNewsTest, ComesBackAsItWasAndNothingElseFits) {
  learn_wall(30);
  StateWriter out;
  news.visit(out);
  const auto bytes = out.take();
  SceneNews other;
  StateReader in(bytes);
  other.visit(in);
  ASSERT_TRUE(in.good() && in.at_end());
  EXPECT_TRUE(other.fits(kWidth, kHeight));
  EXPECT_FALSE(other.fits(kWidth + 2, kHeight));
  EXPECT_FALSE(SceneNews{}.fits(kWidth, kHeight));
  EXPECT_TRUE(SceneNews{}.fits(0, 0)) << "a watch that has seen nothing yet";
}

}  // namespace
}  // namespace rookery::vision
