// The books of a pull: what the loop and other threads decide at the same time.
#include "camera/pull_books.h"

#include <gtest/gtest.h>

#include "tests/support/hand_clock.h"

namespace rookery::camera {
namespace {

Settings bobbin() {
  Settings settings(base::CameraName::parse("bobbin").value());
  settings.stream_address = "http://192.0.2.14:81/stream";
  return settings;
}

// The loop asks and acts in two steps; a person may stop the camera between them.
TEST(PullBooks, AStopBetweenAskingAndOpeningOpensNothing) {
  const test::HandClock clock;
  PullBooks books(bobbin(), PullLimits{}, clock, 1);
  books.start();
  ASSERT_EQ(books.next().order, Session::Order::open);
  books.stop();
  EXPECT_FALSE(books.opening().has_value());
  EXPECT_FALSE(books.under_way());
  books.start();
  EXPECT_TRUE(books.opening().has_value());
  EXPECT_TRUE(books.under_way());
}

}  // namespace
}  // namespace rookery::camera
