// Which cameras of a station stopped together.
#include "camera/gap_board.h"

#include <gtest/gtest.h>

namespace rookery::camera {
namespace {

using namespace std::chrono_literals;

TEST(GapBoard, CountsOthersThatStoppedWithinTwoSecondsByNetwork) {
  GapBoard gaps;
  const base::MonoTime began = base::MonoTime(1000s);
  gaps.gives_pictures("anvil", "hall", began);
  gaps.gives_pictures("bobbin", "hall", began - 1s);
  gaps.gives_pictures("cog", "hall", began);
  gaps.gives_pictures("kiln", "hall", began - 600s);
  gaps.gives_pictures("bay", "yard", began);
  gaps.stopped("anvil", began);
  gaps.stopped("bobbin", began - 1s);
  gaps.stopped("cog", began + 3s);
  gaps.stopped("kiln", began - 600s);
  const OthersSeen others = gaps.others("anvil", began);
  EXPECT_EQ(others.near_live, 2) << "bobbin and cog; kiln gave none for ten minutes";
  EXPECT_EQ(others.near_gaps, 1);
  EXPECT_EQ(others.far_live, 1);
  EXPECT_EQ(others.far_gaps, 0);
  gaps.forget("bobbin");
  EXPECT_EQ(gaps.others("anvil", began).near_live, 1);
}

TEST(GapBoard, AnAnnouncementBelongsToTheGapThatItCameIn) {
  GapBoard gaps;
  const base::MonoTime began = base::MonoTime(1000s);
  EXPECT_FALSE(gaps.has_announced("anvil", began));
  gaps.announced("anvil", began - 10s);
  EXPECT_FALSE(gaps.has_announced("anvil", began));
  gaps.announced("anvil", began + 3s);
  EXPECT_TRUE(gaps.has_announced("anvil", began));
  EXPECT_FALSE(gaps.has_announced("bobbin", began));
  gaps.gives_pictures("bobbin", "", began);
  EXPECT_EQ(gaps.others("bobbin", began).near_live, 0) << "who only announces itself gives no pictures";
}

TEST(GapBoard, ANetworkIsTheFirstThreeNumbersOfAnAddress) {
  const auto network = [](const char* text) { return network_of(boost::asio::ip::make_address(text)); };
  EXPECT_EQ(network("192.0.2.17"), network("192.0.2.200"));
  EXPECT_NE(network("192.0.2.17"), network("192.0.3.17"));
  EXPECT_EQ(network("2001:db8::1"), network("2001:db8::2"));
  EXPECT_NE(network("2001:db8::1"), network("2001:db8:0:1::1"));
}

}  // namespace
}  // namespace rookery::camera
