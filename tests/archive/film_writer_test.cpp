// FilmWriter and what is drawn into its pictures. What others make of the files:
// tests/outside/film_ffprobe_test.cpp.
#include "archive/film_writer.h"

#include <numeric>

#include <gtest/gtest.h>

#include "archive/film_text.h"
#include "tests/support/temp_folder.h"

namespace rookery::archive {
namespace {

using Picture = LibavPtr<AVFrame>;

Picture grey(int width_px, int height_px, int luma) {
  Picture picture(av_frame_alloc());
  picture->width = width_px;
  picture->height = height_px;
  picture->format = AV_PIX_FMT_YUV420P;
  EXPECT_GE(av_frame_get_buffer(picture.get(), 0), 0);
  for (int plane = 0; plane < 3; ++plane) {
    const int rows = plane == 0 ? height_px : height_px / 2;
    std::memset(picture->data[plane], plane == 0 ? luma : 128,
                static_cast<std::size_t>(picture->linesize[plane]) * static_cast<std::size_t>(rows));
  }
  return picture;
}

int luma_at(const Picture& picture, int x, int y) { return picture->data[0][y * picture->linesize[0] + x]; }

class FilmWriterOf : public ::testing::TestWithParam<FilmFormat> {};

TEST_P(FilmWriterOf, WritesAFileThatItsOwnReaderCallsAFilm) {
  test::TempFolder home;
  const auto file = home.path() / "film";
  FilmWriter writer(FilmShape(GetParam(), {64, 48}, 25, "anvil", base::WallTime{}, "anvil: lapse"));
  ASSERT_TRUE(writer.begin(file));
  const Picture picture = grey(64, 48, 100);
  for (int count = 0; count < 30; ++count) {
    ASSERT_GE(av_frame_make_writable(picture.get()), 0);
    std::memset(picture->data[0], 60 + count, static_cast<std::size_t>(picture->linesize[0]) * 48);
    ASSERT_TRUE(writer.add(*picture));
  }
  EXPECT_EQ(writer.pictures(), 30);
  ASSERT_TRUE(writer.finish());
  EXPECT_GT(std::filesystem::file_size(file), 100u);
}

INSTANTIATE_TEST_SUITE_P(AllFormats, FilmWriterOf,
                         ::testing::Values(FilmFormat::mp4, FilmFormat::webm, FilmFormat::webp),
                         [](const auto& param) { return std::string(name_of(param.param)); });

TEST(FilmFormats, AreNamedByTheirEndings) {
  EXPECT_EQ(parse_film_format("webm").value(), FilmFormat::webm);
  EXPECT_EQ(media_type(FilmFormat::webp), "image/webp");
  const auto unknown = parse_film_format("gif");
  ASSERT_FALSE(unknown);
  EXPECT_EQ(unknown.error().code, base::ErrorCode::invalid_value);
}

// Debian's FFmpeg has all three; others leave some out.
TEST(FilmEncoders, OneThatIsNotThereIsNamedWithWhatCanBeMadeInstead) {
  const auto without = [](std::string missing) {
    return [missing = std::move(missing)](const char* name) { return name != missing; };
  };
  struct Case {
    FilmFormat format;
    std::string encoder;
    std::string codec;
    std::string instead;
  };
  for (const Case& each : {Case{FilmFormat::mp4, "libx264", "H.264", "webm, webp"},
                           Case{FilmFormat::webm, "libvpx-vp9", "VP9", "mp4, webp"},
                           Case{FilmFormat::webp, "libwebp_anim", "WebP", "mp4, webm"}}) {
    const auto checked = check_encoder(each.format, "anvil: lapse", without(each.encoder));
    ASSERT_FALSE(checked) << each.codec;
    EXPECT_EQ(checked.error().code, base::ErrorCode::unsupported);
    EXPECT_EQ(checked.error().where, "anvil: lapse");
    EXPECT_NE(checked.error().detail.find(each.codec + " encoder (" + each.encoder + ")"), std::string::npos)
        << checked.error().detail;
    EXPECT_EQ(checked.error().remedy, "these can be made here: " + each.instead);
    EXPECT_TRUE(check_encoder(each.format, "anvil: lapse", without("another")));
  }
}

TEST(FilmEncoders, WithoutAnyItIsSaidWhatToInstall) {
  const auto checked = check_encoder(FilmFormat::webm, "anvil: lapse", [](const char*) { return false; });
  ASSERT_FALSE(checked);
  EXPECT_NE(checked.error().detail.find("VP9"), std::string::npos);
  EXPECT_NE(checked.error().remedy.find("libx264"), std::string::npos);
}

TEST(FilmWriter, ANameWithAColonIsAFileAndNoProtocol) {
  test::TempFolder home;
  const auto before = std::filesystem::current_path();
  std::filesystem::current_path(home.path());
  FilmWriter writer(FilmShape(FilmFormat::mp4, {64, 48}, 25, "", {}, "anvil: lapse"));
  const bool begun = writer.begin("12:00.mp4").has_value();
  const Picture picture = grey(64, 48, 100);
  const bool written = begun && writer.add(*picture) && writer.finish();
  std::filesystem::current_path(before);
  EXPECT_TRUE(written);
  EXPECT_TRUE(std::filesystem::exists(home.path() / "12:00.mp4"));
}

TEST(FilmWriter, AFolderThatIsNotThereIsSaid) {
  FilmWriter writer(FilmShape(FilmFormat::mp4, {64, 48}, 25, "", base::WallTime{}, "anvil: lapse"));
  const auto begun = writer.begin("/nonexistent/film.mp4");
  ASSERT_FALSE(begun);
  EXPECT_EQ(begun.error().code, base::ErrorCode::not_found);
}

TEST(FilmText, WordsCoverPixelsAndStayWithinTheirWidth) {
  const TextCover short_text = TextPen().draw("anvil", 20, 400);
  ASSERT_FALSE(short_text.empty());
  EXPECT_EQ(short_text.cover.size(),
            static_cast<std::size_t>(short_text.width_px) * static_cast<std::size_t>(short_text.height_px));
  EXPECT_GT(std::accumulate(short_text.cover.begin(), short_text.cover.end(), 0L), 5000);
  const TextCover cut = TextPen().draw(std::string(500, 'w'), 20, 120);
  EXPECT_LE(cut.width_px, 120);
  EXPECT_LT(cut.height_px, 40);
  const TextCover two_lines = TextPen().draw("one two three four five six", 20, 120, 2);
  EXPECT_GT(two_lines.height_px, cut.height_px * 3 / 2);
}

TEST(FilmText, AClockDoesNotJumpAsItsDigitsChange) {
  const TextCover one = TextPen().draw("11:11:11", 20, 400);
  const TextCover other = TextPen().draw("08:48:00", 20, 400);
  EXPECT_EQ(one.width_px, other.width_px);
  EXPECT_EQ(one.height_px, other.height_px);
}

TEST(FilmText, BytesThatAreNoTextDoNoHarm) {
  EXPECT_FALSE(TextPen().draw("a\xff\x1b[2Jb", 20, 400).empty());
  EXPECT_TRUE(TextPen().draw("", 20, 400).empty());
  EXPECT_TRUE(TextPen().draw("   ", 20, 400).empty());
}

TEST(FilmText, IsPutWhereItIsWantedAndNowhereElse) {
  const Picture picture = grey(64, 48, 50);
  TextCover block;
  block.width_px = 10;
  block.height_px = 4;
  block.cover.assign(40, 255);
  put_text(*picture, block, 60, -2, 235);
  EXPECT_EQ(luma_at(picture, 60, 0), 235);
  EXPECT_EQ(luma_at(picture, 63, 1), 235);
  EXPECT_EQ(luma_at(picture, 59, 0), 50);
  EXPECT_EQ(luma_at(picture, 60, 2), 50);
  put_text(*picture, block, 100, 100, 235);  // wholly outside
}

TEST(FilmText, ADimmedBoxKeepsItsShare) {
  const Picture picture = grey(64, 48, 216);
  dim_box(*picture, 0, 0, 32, 48, 0.5);
  EXPECT_NEAR(luma_at(picture, 10, 10), 116, 1);
  EXPECT_EQ(luma_at(picture, 32, 10), 216);
  dim_box(*picture, -5, -5, 500, 500, 0);
  EXPECT_EQ(luma_at(picture, 63, 47), 16);
}

}  // namespace
}  // namespace rookery::archive
