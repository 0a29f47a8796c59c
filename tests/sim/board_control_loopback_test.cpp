// The control address of a make-believe board answers as boards do.
#include <gtest/gtest.h>

#include <atomic>

#include "tests/sim/sim_support.h"

namespace rookery::sim::test {
namespace {

TEST(BoardControl, SwitchesTheLampAndRefusesWhatItDoesNotKnow) {
  Running running;
  std::atomic<int> lamp = -1;
  BoardOptions options = quick();
  options.on_lamp = [&](int value) { lamp = value; };
  Board board(running.executor(), options, std::make_shared<ListSource>(three_pictures()));
  ASSERT_TRUE(board.start());
  const auto answer = [&](std::string_view target) {
    Viewer viewer(board.still_address(), target);
    viewer.hears(11);
    return viewer.got().substr(0, 12);
  };
  EXPECT_EQ(answer("/control?key=lamp&value=200"), "HTTP/1.1 200");
  EXPECT_EQ(lamp, 200);
  EXPECT_EQ(answer("/control?value=0&key=lamp"), "HTTP/1.1 200");
  EXPECT_EQ(lamp, 0);
  EXPECT_EQ(answer("/control?key=torch&value=1"), "HTTP/1.1 500");
  EXPECT_EQ(answer("/control"), "HTTP/1.1 404");
  EXPECT_EQ(answer("/control?keys=lamp"), "HTTP/1.1 404");
  EXPECT_EQ(board.counts().controls, 2U);
  EXPECT_EQ(board.counts().lamp, 0);
}

}  // namespace
}  // namespace rookery::sim::test
