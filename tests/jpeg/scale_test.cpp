// Scaled pictures: the right size, the same look, and no work where the original will do.
#include "jpeg/scale.h"

#include <gtest/gtest.h>

#include "jpeg/luma_grid.h"
#include "jpeg/walk.h"
#include "tests/jpeg/jpeg_support.h"

namespace rookery::jpeg {
namespace {

PictureInfo info_of(const Jpeg& jpeg) {
  const auto result = walk(jpeg);
  return std::holds_alternative<PictureInfo>(result) ? std::get<PictureInfo>(result) : PictureInfo{};
}

TEST(JpegScale, StepsAreTheSmallestThatSuffice) {
  EXPECT_EQ(size_step_for(1), 160);
  EXPECT_EQ(size_step_for(160), 160);
  EXPECT_EQ(size_step_for(161), 320);
  EXPECT_EQ(size_step_for(640), 640);
  EXPECT_EQ(size_step_for(1280), 1280);
  EXPECT_EQ(size_step_for(1281), std::nullopt);
  EXPECT_EQ(size_step_for(0), std::nullopt);
  EXPECT_EQ(size_step_for(-5), std::nullopt);
}

TEST(JpegScale, WidthIsTheSmallestEighthThatSuffices) {
  const Jpeg jpeg = make_jpeg({.width_px = 640, .height_px = 480});
  for (const auto& [want, width, height] : {std::tuple{1, 80, 60},
                                            {80, 80, 60},
                                            {81, 160, 120},
                                            {160, 160, 120},
                                            {320, 320, 240},
                                            {321, 400, 300},
                                            {560, 560, 420}}) {
    const auto scaled = compute_scaled(jpeg, want, 75);
    ASSERT_TRUE(scaled.has_value() && scaled->has_value()) << want;
    const auto info = info_of(**scaled);
    EXPECT_EQ(info.width_px, width) << want;
    EXPECT_EQ(info.height_px, height) << want;
    EXPECT_EQ(info.quality_estimate, 75);
    EXPECT_LT((*scaled)->size(), jpeg.size());
    EXPECT_EQ((*scaled)->capacity(), (*scaled)->size());
  }
}

TEST(JpegScale, NotLargerMeansTheOriginal) {
  const Jpeg jpeg = make_jpeg({.width_px = 640, .height_px = 480});
  for (const int want : {561, 640, 641, 100000}) {
    const auto scaled = compute_scaled(jpeg, want, 75);
    ASSERT_TRUE(scaled.has_value()) << want;
    EXPECT_FALSE(scaled->has_value()) << want;
  }
}

TEST(JpegScale, LooksTheSameInEverySampling) {
  for (const int sampling : {TJSAMP_420, TJSAMP_422, TJSAMP_444, TJSAMP_440, TJSAMP_411, TJSAMP_GRAY}) {
    for (const int width : {640, 401}) {
      const Jpeg jpeg = make_jpeg({.width_px = width, .height_px = 480, .sampling = sampling, .quality = 95});
      const auto scaled = compute_scaled(jpeg, width / 4, 95);
      ASSERT_TRUE(scaled.has_value() && scaled->has_value()) << sampling;
      const auto info = info_of(**scaled);
      EXPECT_EQ(info.sampling, info_of(jpeg).sampling);
      // An eighth of the original twice halved is a thirty-second of it: compare means of 4×4 cells.
      LumaGrid large;
      LumaGrid small;
      ASSERT_TRUE(compute_luma_grid(jpeg, large).has_value());
      ASSERT_TRUE(compute_luma_grid(**scaled, small).has_value());
      const int columns = large.width / 4;  // whole cells only
      for (int y = 0; y + 1 < small.height; ++y) {
        for (int x = 0; x < std::min(columns, small.width - 1); ++x) {
          double sum = 0;
          for (int dy = 0; dy < 4; ++dy) {
            for (int dx = 0; dx < 4; ++dx) {
              sum += large.cells[static_cast<std::size_t>((4 * y + dy) * large.width + 4 * x + dx)];
            }
          }
          ASSERT_NEAR(small.cells[static_cast<std::size_t>(y * small.width + x)], sum / 16, 6.0)
              << sampling << " at " << x << "," << y;
        }
      }
    }
  }
}

TEST(JpegScale, ProgressiveAndDamagedPicturesScale) {
  const Jpeg whole = make_jpeg({.width_px = 640, .height_px = 480, .flags = TJFLAG_PROGRESSIVE});
  EXPECT_EQ(info_of(*compute_scaled(whole, 320, 80).value()).width_px, 320);
  const Jpeg plain = make_jpeg({.width_px = 640, .height_px = 480});
  const Jpeg cut =
      joined({std::span(plain).first(plain.size() / 2), bytes_from(std::string_view("\0\xFF\xD9", 3))});
  EXPECT_EQ(info_of(*compute_scaled(cut, 320, 80).value()).width_px, 320);
}

TEST(JpegScale, RefusesWhatMakesNoSense) {
  const Jpeg jpeg = make_jpeg({});
  EXPECT_EQ(compute_scaled(jpeg, 0, 80).error().code, base::ErrorCode::invalid_value);
  EXPECT_EQ(compute_scaled(jpeg, 160, 0).error().code, base::ErrorCode::invalid_value);
  EXPECT_EQ(compute_scaled(jpeg, 160, 101).error().code, base::ErrorCode::invalid_value);
  EXPECT_EQ(compute_scaled({}, 160, 80).error().code, base::ErrorCode::malformed);
}

}  // namespace
}  // namespace rookery::jpeg
