// IJG quality from quantization tables, against published sums and against another program's encoder.
#include "jpeg/quality.h"

#include <gtest/gtest.h>

#include "jpeg/walk.h"
#include "tests/outside/shell.h"
#include "tests/support/needs.h"

namespace rookery::jpeg {
namespace {

// Sums of the tables of ITU-T T.81 annex K, K.1 (luma) and K.2 (chroma), scaled as the Independent JPEG
// Group's encoder does: s = 5000/q below 50, 200 − 2q from there; t = clamp((b·s + 50)/100, 1, 255).
struct Row {
  int quality;
  int luma;
  int chroma;
};
constexpr Row kPublished[] = {{10, 12560, 15110}, {25, 7376, 11010}, {50, 3688, 5505}, {75, 1858, 2780},
                              {80, 1477, 2221},   {85, 1109, 1666},  {90, 736, 1110},  {95, 369, 558},
                              {98, 151, 224},     {99, 86, 115},     {100, 64, 64}};

TEST(JpegQuality, SumsOfTheStandardTables) {
  for (const auto& row : kPublished) {
    EXPECT_EQ(ijg_luma_sum(row.quality), row.luma) << row.quality;
    EXPECT_EQ(ijg_chroma_sum(row.quality), row.chroma) << row.quality;
  }
}

TEST(JpegQuality, EstimateIsTheQualityOfTheNearestSum) {
  for (const auto& row : kPublished) {
    QuantTable table;
    table.fill(1);
    table[0] = static_cast<std::uint16_t>(row.luma - 63);
    EXPECT_EQ(estimate_ijg_quality(table), row.quality);
  }
  QuantTable zero{};
  EXPECT_EQ(estimate_ijg_quality(zero), std::nullopt);
  QuantTable coarse;
  coarse.fill(60000);
  EXPECT_EQ(estimate_ijg_quality(coarse), std::nullopt);
}

TEST(JpegQuality, AnotherProgramsEncoderIsReadBack) {
  ROOKERY_NEEDS_PROGRAM("convert", "imagemagick");
  for (const int quality : {5, 10, 25, 49, 50, 51, 75, 80, 90, 95, 98, 100}) {
    const auto jpeg = outside::output_of("convert -size 64x48 gradient:red-blue -quality " +
                                         std::to_string(quality) + " jpg:-");
    const auto result = walk(jpeg);
    ASSERT_TRUE(std::holds_alternative<PictureInfo>(result)) << quality;
    EXPECT_EQ(std::get<PictureInfo>(result).quality_estimate, quality);
  }
}

}  // namespace
}  // namespace rookery::jpeg
