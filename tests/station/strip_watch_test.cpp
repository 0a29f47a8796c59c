// What a strip says about 10 s of one camera.
#include "station/strip_watch.h"

#include <gtest/gtest.h>

namespace rookery::station {
namespace {

using archive::Health;

base::WallTime at(const char* text) { return base::parse_rfc3339(text).value(); }

camera::Status status_of(camera::State state, std::uint64_t rejected = 0, std::uint64_t dropouts = 0) {
  camera::Status status;
  status.state = state;
  status.counters.rejected[0] = rejected;
  status.counters.dropouts = dropouts;
  return status;
}

// A frame that is no picture: it counts as seen, and adds no energy.
camera::FramePtr frame(std::uint64_t number) {
  return std::make_shared<const camera::Frame>(std::vector<std::byte>(4), base::WallTime{}, base::MonoTime{},
                                               number, camera::PixelSize{});
}

class StripWatchTest : public testing::Test {
 protected:
  // Looks three times within one step, and once in the next; returns the step's health.
  Health health_after(const camera::Status& status, bool with_frames,
                      camera::Source source = camera::Source::stream) {
    StripWatch watch;
    for (int i = 0; i < 3; ++i) {
      EXPECT_FALSE(
          watch.look(with_frames ? frame(number_++) : nullptr, status, source, at("2026-03-01T12:00:01Z")));
    }
    const auto mark = watch.look(nullptr, status, source, at("2026-03-01T12:00:10Z"));
    EXPECT_TRUE(mark.has_value());
    EXPECT_EQ(mark->at, at("2026-03-01T12:00:00Z"));
    return mark->step.health;
  }
  std::uint64_t number_ = 1;
};

TEST_F(StripWatchTest, FramesWithoutTroubleAreLive) {
  EXPECT_EQ(health_after(status_of(camera::State::live), true), Health::live);
}

TEST_F(StripWatchTest, FramesWithRejectedOnesAmongThemAreRough) {
  EXPECT_EQ(health_after(status_of(camera::State::live, 1), true), Health::rough);
  EXPECT_EQ(health_after(status_of(camera::State::live, 0, 1), true), Health::rough);
  EXPECT_EQ(health_after(status_of(camera::State::silent), true), Health::rough);
}

TEST_F(StripWatchTest, NoFrameFromABoardThatShouldSendIsDown) {
  EXPECT_EQ(health_after(status_of(camera::State::waiting), false), Health::down);
  EXPECT_EQ(health_after(status_of(camera::State::live), false), Health::down);
}

TEST_F(StripWatchTest, SwitchedOffAndSleepingBoardsAreNoFault) {
  EXPECT_EQ(health_after(status_of(camera::State::off), false), Health::none);
  EXPECT_EQ(health_after(status_of(camera::State::asleep), false, camera::Source::pushed), Health::none);
}

TEST_F(StripWatchTest, AClockSetBackEndsTheStepItBeganIn) {
  StripWatch watch;
  EXPECT_FALSE(watch.look(frame(1), status_of(camera::State::live), camera::Source::stream,
                          at("2026-03-01T12:00:05Z")));
  const auto mark = watch.look(frame(2), status_of(camera::State::live), camera::Source::stream,
                               at("2026-03-01T11:00:05Z"));
  ASSERT_TRUE(mark.has_value());
  EXPECT_EQ(mark->at, at("2026-03-01T12:00:00Z"));
}

}  // namespace
}  // namespace rookery::station
