#include "jpeg/luma_plane.h"

#include <gtest/gtest.h>

#include "jpeg/luma_grid.h"
#include "tests/support/picture.h"

namespace rookery::jpeg {
namespace {

TEST(LumaPlane, ItsBlocksHaveTheMeansOfTheLumaGrid) {
  const auto jpeg = test::make_picture(322, 242, 5, 90);
  LumaPlane plane;
  LumaGrid grid;
  ASSERT_TRUE(compute_luma_plane(jpeg, plane));
  ASSERT_TRUE(compute_luma_grid(jpeg, grid));
  ASSERT_EQ(plane.width_px, 322);
  ASSERT_EQ(plane.height_px, 242);
  EXPECT_FALSE(plane.damaged);
  for (int y = 0; y < plane.height_px / 8; ++y) {
    for (int x = 0; x < plane.width_px / 8; ++x) {
      int sum = 0;
      for (int i = 0; i < 64; ++i) sum += plane.row(8 * y + i / 8)[static_cast<std::size_t>(8 * x + i % 8)];
      EXPECT_NEAR(grid.cells[static_cast<std::size_t>(y * grid.width + x)], sum / 64.0, 2.5) << x << "," << y;
    }
  }
}

TEST(LumaPlane, DamageIsToldAndWhatIsNoPictureIsRefused) {
  auto jpeg = test::make_picture(320, 240, 5, 90);
  LumaPlane plane;
  // The second half of the scan is gone, the end marker is there.
  std::vector<std::byte> cut(jpeg.begin(), jpeg.begin() + static_cast<std::ptrdiff_t>(jpeg.size() / 2));
  cut.push_back(std::byte{0xFF});
  cut.push_back(std::byte{0xD9});
  ASSERT_TRUE(compute_luma_plane(cut, plane));
  EXPECT_TRUE(plane.damaged);
  jpeg.resize(100);
  EXPECT_FALSE(compute_luma_plane(jpeg, plane));
  EXPECT_FALSE(compute_luma_plane({}, plane));
}

}  // namespace
}  // namespace rookery::jpeg
