#include "sim/clock_code.h"

#include <gtest/gtest.h>

#include "sim/encoder.h"
#include "sim/picture_faults.h"

namespace rookery::sim {
namespace {

// A busy picture, so that the strip has to hold against what is round it.
Picture busy(Size size) {
  Picture picture(size);
  for (std::size_t i = 0; i < picture.y.size(); ++i)
    picture.y[i] = static_cast<std::uint8_t>(hash32(static_cast<std::uint32_t>(i / 3)) & 0xFF);
  return picture;
}

constexpr base::WallTime kTimes[] = {base::WallTime(std::chrono::milliseconds(0)),
                                     base::WallTime(std::chrono::milliseconds(1'772'366'400'250)),
                                     base::WallTime(std::chrono::milliseconds(4'102'444'799'999)),
                                     base::WallTime(std::chrono::milliseconds((1LL << 44) - 1))};

TEST(ClockCode, SurvivesJpegOfQuality60AndHalfTheSize) {
  Encoder encoder;
  for (const Size size : {Size{640, 480}, Size{800, 600}, Size{1600, 1200}, Size{320, 240}, Size{480, 320}}) {
    for (const base::WallTime time : kTimes) {
      Picture picture = busy(size);
      Canvas canvas(picture);
      draw_clock(canvas, time);
      const Bytes jpeg = encoder.encode(picture, 60);
      const auto full = decode_gray(*jpeg);
      ASSERT_TRUE(full);
      EXPECT_EQ(read_clock(full->luma, full->width, full->height), time) << size.width;
      if (size.width < 640) continue;
      const auto half = decode_gray(*jpeg, true);
      ASSERT_TRUE(half);
      EXPECT_EQ(read_clock(half->luma, half->width, half->height), time) << size.width << " halved";
    }
  }
}

TEST(ClockCode, MicrosecondsAreCutOff) {
  Picture picture(Size{640, 480});
  Canvas canvas(picture);
  draw_clock(canvas, base::WallTime(std::chrono::microseconds(1'772'366'400'250'999)));
  EXPECT_EQ(read_clock(picture.y, 640, 480), base::WallTime(std::chrono::milliseconds(1'772'366'400'250)));
}

TEST(ClockCode, NothingIsReadWhereNothingStands) {
  const Picture picture = busy({640, 480});
  EXPECT_EQ(read_clock(picture.y, 640, 480), std::nullopt);
  EXPECT_EQ(read_clock(Picture({640, 480}).y, 640, 480), std::nullopt);
  EXPECT_EQ(read_clock({}, 640, 480), std::nullopt);
}

TEST(ClockCode, OneWrongCellIsNoticed) {
  Picture picture(Size{640, 480});
  Canvas canvas(picture);
  draw_clock(canvas, kTimes[1]);
  // Cell 20 lies in the first row, 8 pixels wide, from x = 70·8.
  for (int y = 456; y < 464; ++y) {
    for (int x = 560; x < 568; ++x) {
      std::uint8_t& luma = picture.y[static_cast<std::size_t>(y * 640 + x)];
      luma = luma > 128 ? 28 : 216;
    }
  }
  EXPECT_EQ(read_clock(picture.y, 640, 480), std::nullopt);
}

}  // namespace
}  // namespace rookery::sim
