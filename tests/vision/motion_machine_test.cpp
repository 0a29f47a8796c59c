// Where something always moves nothing happens; who works at a place is no machine.
#include "tests/vision/motion_watching.h"

namespace rookery::vision {
namespace {

using test::kHeight;
using test::kWidth;
using test::MotionTest;
using test::Sight;
using Cause = MotionEvent::Cause;

TEST_F(MotionTest, WhatSwaysWithoutEndComesToRest) {
  watch(240,
        [](double s) { return Sight{.x = 30 + 3 * std::sin(3 * s), .y = 20, .width = 10, .height = 10}; });
  const std::size_t until_learned = motions().size();
  watch(240,
        [](double s) { return Sight{.x = 30 + 3 * std::sin(3 * s), .y = 20, .width = 10, .height = 10}; });
  EXPECT_EQ(motions().size(), until_learned);
}

// Its layers come back to rows only with the next print.
TEST_F(MotionTest, WhatAMachineDoesAgainIsNoEvent) {
  watch(20);
  print(2);
  const std::size_t until_learned = motions().size();
  print(1);
  EXPECT_EQ(motions().size(), until_learned);
}

// The next layer, or a leaf in a gust beside those that always move.
TEST_F(MotionTest, WhatBeginsBesideAMachineAtWorkAndStaysThereIsNoEvent) {
  const auto sways = [](double y) {
    return [y](double s) { return Sight{.x = 30 + std::sin(3 * s), .y = y, .width = 6, .height = 6}; };
  };
  watch(20);
  watch(150, sways(30));
  const std::size_t until_learned = motions().size();
  watch(5, sways(16));
  watch(20, sways(30));
  EXPECT_EQ(motions().size(), until_learned);
  // Whoever comes there is another thing.
  watch(4, [](double s) {
    return Sight{.x = 80 - 48 * std::min(s / 3, 1.0), .y = 16, .width = 6, .height = 6};
  });
  watch(10, sways(30));
  EXPECT_EQ(motions().size(), until_learned + 1);
}

TEST_F(MotionTest, AMachineIsKnownAfterARestart) {
  ASSERT_TRUE(detector.restore(knows_the_printer()).has_value());
  watch(300);  // what moved in the last minutes is forgotten, and somebody took the head away
  events.clear();
  print(1);
  EXPECT_TRUE(motions().empty());
}

TEST_F(MotionTest, SomebodyAtAMachineIsFoundAllTheSame) {
  ASSERT_TRUE(detector.restore(knows_the_printer()).has_value());
  watch(30);
  const std::size_t before = motions().size();
  // Between two prints, and while it works: then only the one who passes is drawn.
  watch(6, crossing(6));
  watch(10);
  EXPECT_EQ(motions().size(), before + 1);
  watch(60, printing);
  const std::size_t at_work = motions().size();
  watch(6, crossing(6));
  watch(60, printing);
  EXPECT_EQ(motions().size(), at_work + 1);
}

// Comes, stands and shifts from one foot to the other, goes: for most of the time somebody is there.
TEST_F(MotionTest, WhereSomebodyComesEveryMinuteIsNoMachine) {
  const auto visit = [](double s) {
    const double way = std::min({s / 5, 1.0, (35 - s) / 5});
    const double sways = way < 1 ? 0 : std::sin(s);
    return Sight{.x = 84 - 50 * way + sways, .y = 24, .width = 10, .height = 20};
  };
  watch(20);
  for (int i = 0; i < 16; ++i) {
    watch(35, visit);
    watch(20);
  }
  EXPECT_GE(motions().size(), 16u);
}

// Comes from the left, works at the bench without a pause of five seconds, goes.
std::function<Sight(double)> working(double seconds) {
  return [seconds](double s) {
    const double way = std::min({s / 4, 1.0, (seconds - s) / 4});
    const double sways = way < 1 ? 0 : 2 * std::sin(2.2 * s);
    return Sight{.x = -10 + 44 * way + sways, .y = 24, .width = 10, .height = 20};
  };
}

// Was there before, where nothing could be seen of it.
Sight rising(double s) {
  const double up = std::min({s, 1.0, 10 - s});
  return Sight{.x = 34 + 2 * std::sin(2.2 * s), .y = 44 - 20 * up, .width = 10, .height = 20 * up};
}

// Four minutes made a machine of the bench, and whoever was not seen on the way there was not seen.
TEST_F(MotionTest, WhoWorksAtABenchMakesNoMachineOfIt) {
  watch(20);
  watch(240, working(240));
  watch(600);  // what moved in the last minutes is forgotten
  const std::size_t before = motions().size();
  watch(10, rising);
  watch(10);
  EXPECT_EQ(motions().size(), before + 1);
}

}  // namespace
}  // namespace rookery::vision
