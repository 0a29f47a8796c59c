// What a strip says about 10 s of one camera.
#include "station/strip_steps.h"

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

constexpr std::optional<std::uint8_t> kStill{0};  // a frame came, in which nothing moves

class StripStepsTest : public testing::Test {
 protected:
  // Looks three times within one step, and once in the next; returns the step's health.
  Health health_after(const camera::Status& status, bool with_frames,
                      camera::Source source = camera::Source::stream) {
    StripSteps watch;
    for (int i = 0; i < 3; ++i) {
      EXPECT_FALSE(
          watch.look(with_frames ? kStill : std::nullopt, status, source, at("2026-03-01T12:00:01Z")));
    }
    const auto mark = watch.look(std::nullopt, status, source, at("2026-03-01T12:00:10Z"));
    EXPECT_TRUE(mark.has_value());
    EXPECT_EQ(mark->at, at("2026-03-01T12:00:00Z"));
    return mark->step.health;
  }
};

TEST_F(StripStepsTest, FramesWithoutTroubleAreLive) {
  EXPECT_EQ(health_after(status_of(camera::State::live), true), Health::live);
}

TEST_F(StripStepsTest, FramesWithRejectedOnesAmongThemAreRough) {
  EXPECT_EQ(health_after(status_of(camera::State::live, 1), true), Health::rough);
  EXPECT_EQ(health_after(status_of(camera::State::live, 0, 1), true), Health::rough);
  EXPECT_EQ(health_after(status_of(camera::State::silent), true), Health::rough);
}

TEST_F(StripStepsTest, NoFrameFromABoardThatShouldSendIsDown) {
  EXPECT_EQ(health_after(status_of(camera::State::waiting), false), Health::down);
  EXPECT_EQ(health_after(status_of(camera::State::silent), false), Health::down);
  EXPECT_EQ(health_after(status_of(camera::State::connecting), false), Health::down);
}

// Asked once a minute, a healthy board has no picture in five of six steps.
TEST_F(StripStepsTest, NoFrameFromABoardThatIsLiveIsLive) {
  EXPECT_EQ(health_after(status_of(camera::State::live), false, camera::Source::stills), Health::live);
  EXPECT_EQ(health_after(status_of(camera::State::live), false), Health::live);
  EXPECT_EQ(health_after(status_of(camera::State::live, 1), false), Health::rough);
}

TEST_F(StripStepsTest, SwitchedOffAndSleepingBoardsAreNoFault) {
  EXPECT_EQ(health_after(status_of(camera::State::off), false), Health::none);
  EXPECT_EQ(health_after(status_of(camera::State::asleep), false, camera::Source::pushed), Health::none);
}

TEST_F(StripStepsTest, AClockSetBackEndsTheStepItBeganIn) {
  StripSteps watch;
  EXPECT_FALSE(
      watch.look(kStill, status_of(camera::State::live), camera::Source::stream, at("2026-03-01T12:00:05Z")));
  const auto mark =
      watch.look(kStill, status_of(camera::State::live), camera::Source::stream, at("2026-03-01T11:00:05Z"));
  ASSERT_TRUE(mark.has_value());
  EXPECT_EQ(mark->at, at("2026-03-01T12:00:00Z"));
}

}  // namespace
}  // namespace rookery::station
