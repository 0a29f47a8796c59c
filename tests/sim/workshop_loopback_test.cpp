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

// Eight rough scenes take a quarter of the time of eight sharp ones: the first are not waited for with the
// last.
TEST(Workshop, SomethingIsSeenLongBeforeAllIsSharp) {
  Workshop workshop;
  ASSERT_TRUE(workshop.start());
  ASSERT_TRUE(workshop.wait_until_painted(std::chrono::seconds(60)));
  EXPECT_LT(workshop.sharp(), 8);
  const std::vector<WorkshopCamera> cameras = workshop.cameras();
  for (const WorkshopCamera& camera : cameras) {
    const std::string jpeg = test::output_of("curl -s --max-time 60 " + camera.still_address);
    const auto gray = decode_gray({reinterpret_cast<const std::uint8_t*>(jpeg.data()), jpeg.size()});
    ASSERT_TRUE(gray) << camera.name;
    EXPECT_EQ(gray->width, 640);
    EXPECT_TRUE(read_clock(gray->luma, gray->width, gray->height)) << camera.name;
  }
}

}  // namespace
}  // namespace rookery::sim
