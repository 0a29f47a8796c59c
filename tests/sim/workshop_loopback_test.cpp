#include "sim/workshop.h"

#include <gtest/gtest.h>

#include "sim/clock_code.h"
#include "sim/encoder.h"
#include "sim_support.h"

namespace rookery::sim {
namespace {

TEST(Workshop, EightBoardsHandOutPicturesOfThisMoment) {
  WorkshopOptions options;
  options.size = {320, 240};
  options.troubles = false;
  Workshop workshop(options);
  ASSERT_TRUE(workshop.start());
  const std::vector<WorkshopCamera> cameras = workshop.cameras();
  ASSERT_EQ(cameras.size(), 8U);
  const base::SystemClock clock;
  for (const WorkshopCamera& camera : cameras) {
    const base::WallTime before = clock.wall();
    const std::string jpeg = test::output_of("curl -s --max-time 60 " + camera.still_address);
    const base::WallTime after = clock.wall();
    const auto gray = decode_gray({reinterpret_cast<const std::uint8_t*>(jpeg.data()), jpeg.size()});
    ASSERT_TRUE(gray) << camera.name;
    const auto taken = read_clock(gray->luma, gray->width, gray->height);
    ASSERT_TRUE(taken) << camera.name;
    EXPECT_GE(*taken, before - std::chrono::milliseconds(1)) << camera.name;
    EXPECT_LE(*taken, after) << camera.name;
    EXPECT_FALSE(camera.description.empty());
    EXPECT_NE(workshop.board(camera.name), nullptr);
  }
  EXPECT_EQ(workshop.board("attic"), nullptr);
}

}  // namespace
}  // namespace rookery::sim
