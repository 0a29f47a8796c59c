// The books of a pull: what the loop and other threads decide at the same time.
#include "camera/pull_books.h"

#include <gtest/gtest.h>

#include "tests/support/hand_clock.h"
#include "tests/support/picture.h"

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

// A camera that becomes `pushed` may get its first still before the old connection is closed.
TEST(PullBooks, AStillPushedWhileTheOldConnectionClosesIsPublished) {
  const test::HandClock clock;
  PullBooks books(bobbin(), PullLimits{}, clock, 1);
  books.start();
  ASSERT_TRUE(books.opening().has_value());
  Settings settings = bobbin();
  settings.source = Source::pushed;
  books.set(settings);
  ASSERT_TRUE(books.must_end());
  ASSERT_TRUE(books.push(test::make_picture(64, 48, 1)).has_value());
  EXPECT_TRUE(books.feed()->latest());
  EXPECT_EQ(books.status().counters.received, 1U);
  EXPECT_EQ(books.status().counters.published, 1U);
  EXPECT_EQ(books.status().state, State::live);
  // What the old connection still brings is neither counted nor shown.
  EXPECT_TRUE(books.accept(test::make_picture(64, 48, 2)).has_value());
  EXPECT_EQ(books.status().counters.received, 1U);
  books.ended(std::nullopt);
  EXPECT_EQ(books.status().state, State::live);
}

TEST(PullBooks, AStillThatIsNotTakenIsRefused) {
  const test::HandClock clock;
  Settings settings = bobbin();
  settings.source = Source::pushed;
  PullBooks books(settings, PullLimits{}, clock, 1);
  EXPECT_EQ(books.push(test::make_picture(64, 48, 1)).error().code, base::ErrorCode::refused);
  books.start();
  EXPECT_TRUE(books.push(test::make_picture(64, 48, 1)).has_value());
  books.close();
  const auto late = books.push(test::make_picture(64, 48, 1));
  ASSERT_FALSE(late.has_value());
  EXPECT_EQ(late.error().code, base::ErrorCode::refused);
  EXPECT_FALSE(late.error().remedy.empty());
}

}  // namespace
}  // namespace rookery::camera
