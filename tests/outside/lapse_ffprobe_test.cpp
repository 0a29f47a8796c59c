// Lapses of a film from outside, looked at by FFmpeg's own programs: codec, pixel format, constant rate, and
// that an MP4 begins with what a browser needs first. Sources: ISO/IEC 14496-12:2022, 6.3 (boxes) and 8.2.1
// (moov); common practice for faststart, no source.
#include <gtest/gtest.h>

#include <boost/json.hpp>

#include "archive/film_reader.h"
#include "archive/lapse.h"
#include "base/file.h"
#include "tests/outside/film.h"
#include "tests/outside/neighbours_ssim.h"
#include "tests/support/needs.h"
#include "tests/support/program.h"
#include "tests/support/temp_folder.h"

namespace rookery::outside {
namespace {

using archive::FilmFormat;
using archive::LapseRequest;

// The film from outside as motion JPEG, made once.
const std::filesystem::path& motion_jpeg() {
  static const test::TempFolder folder;
  static const std::filesystem::path file = [] {
    const auto path = folder.path() / "street.avi";
    const test::Ended made = test::run_program({"ffmpeg", "-v", "error", "-nostdin", "-i", kFilm, "-frames:v",
                                                "300", "-c:v", "mjpeg", "-q:v", "4", path.string()});
    EXPECT_EQ(made.exit_code, 0) << made.err;
    return path;
  }();
  return file;
}

archive::LapseResult lapse(const LapseRequest& request, const std::filesystem::path& file) {
  auto made = archive::make_lapse(
      [] {
        return base::Result<std::unique_ptr<archive::PictureSource>>(
            archive::FilmReader::open(motion_jpeg()).value());
      },
      request, file, [](double) { return true; });
  EXPECT_TRUE(made) << made.error().text();
  return made ? *made : archive::LapseResult{};
}

boost::json::object probed(const std::filesystem::path& file) {
  const test::Ended told =
      test::run_program({"ffprobe", "-v", "error", "-count_frames", "-show_streams", "-show_frames",
                         "-show_entries", "frame=pts_time:stream", "-of", "json", file.string()});
  EXPECT_EQ(told.exit_code, 0);
  EXPECT_EQ(told.err, "");
  return boost::json::parse(told.out).as_object();
}

// The boxes of an MP4's outermost level, in order.
std::vector<std::string> boxes_of(const std::filesystem::path& file) {
  const std::string bytes = base::read_file(file, 64 << 20).value();
  std::vector<std::string> boxes;
  for (std::size_t at = 0; at + 8 <= bytes.size();) {
    std::size_t size = 0;
    for (std::size_t n = 0; n < 4; ++n) size = size << 8 | static_cast<unsigned char>(bytes[at + n]);
    boxes.push_back(bytes.substr(at + 4, 4));
    if (size < 8) break;
    at += size;
  }
  return boxes;
}

class LapseByFfprobe : public ::testing::Test {
 protected:
  LapseByFfprobe() {
    request.what = "street";
    request.length_s = 2;
  }
  // Every frame as long as every other.
  static void expect_constant_rate(const boost::json::object& told) {
    const auto& frames = told.at("frames").as_array();
    ASSERT_EQ(frames.size(), 50u);
    for (std::size_t n = 0; n < frames.size(); ++n) {
      const double at = std::stod(std::string(frames[n].at("pts_time").as_string()));
      EXPECT_NEAR(at, static_cast<double>(n) / 25, 0.0006) << "a WebM's times are whole milliseconds";
    }
  }
  test::TempFolder folder;
  LapseRequest request;
};

TEST_F(LapseByFfprobe, AnMp4IsH264AtAConstantRateAndBeginsWithItsIndex) {
  ROOKERY_NEEDS_FILM();
  const auto file = folder.path() / "street.mp4";
  const auto made = lapse(request, file);
  EXPECT_EQ(made.frames, 50);
  const auto told = probed(file);
  const auto& stream = told.at("streams").as_array().at(0).as_object();
  EXPECT_EQ(stream.at("codec_name").as_string(), "h264");
  EXPECT_EQ(stream.at("pix_fmt").as_string(), "yuv420p");
  EXPECT_EQ(stream.at("width").to_number<int>(), kFilmWidth_px);
  EXPECT_EQ(stream.at("height").to_number<int>(), kFilmHeight_px);
  EXPECT_EQ(stream.at("r_frame_rate").as_string(), "25/1");
  EXPECT_EQ(stream.at("avg_frame_rate").as_string(), "25/1");
  expect_constant_rate(told);
  const auto boxes = boxes_of(file);
  const auto moov = std::find(boxes.begin(), boxes.end(), "moov");
  const auto mdat = std::find(boxes.begin(), boxes.end(), "mdat");
  ASSERT_NE(moov, boxes.end());
  ASSERT_NE(mdat, boxes.end());
  EXPECT_LT(moov, mdat);
}

TEST_F(LapseByFfprobe, AWebmIsVp9AtAConstantRate) {
  ROOKERY_NEEDS_FILM();
  request.format = FilmFormat::webm;
  const auto file = folder.path() / "street.webm";
  lapse(request, file);
  const auto told = probed(file);
  const auto& stream = told.at("streams").as_array().at(0).as_object();
  EXPECT_EQ(stream.at("codec_name").as_string(), "vp9");
  EXPECT_EQ(stream.at("pix_fmt").as_string(), "yuv420p");
  expect_constant_rate(told);
}

// FFmpeg 5.1 cannot read an animated WebP; its container is simple enough to be walked.
// Source: WebP Container Specification (developers.google.com/speed/webp/docs/riff_container): RIFF, WEBP,
// VP8X with the animation flag, ANIM, then one ANMF a frame with its duration in ms, 24 bits at offset 12.
TEST_F(LapseByFfprobe, AnAnimatedWebpHasItsFramesAndTheirLengths) {
  ROOKERY_NEEDS_FILM();
  request.format = FilmFormat::webp;
  const auto file = folder.path() / "street.webp";
  const auto made = lapse(request, file);
  EXPECT_EQ(made.width_px, 480);
  const std::string bytes = base::read_file(file, 64 << 20).value();
  ASSERT_EQ(bytes.substr(0, 4) + bytes.substr(8, 4), "RIFFWEBP");
  const auto number = [&bytes](std::size_t at, std::size_t length) {
    std::size_t value = 0;
    for (std::size_t n = length; n-- > 0;) value = value << 8 | static_cast<unsigned char>(bytes[at + n]);
    return value;
  };
  EXPECT_EQ(number(4, 4) + 8, bytes.size());
  std::size_t frames = 0;
  std::size_t lasted_ms = 0;
  bool animated = false;
  for (std::size_t at = 12; at + 8 <= bytes.size();) {
    const std::string chunk = bytes.substr(at, 4);
    const std::size_t size = number(at + 4, 4);
    if (chunk == "VP8X") animated = (number(at + 8, 1) & 2) != 0;
    if (chunk == "ANMF") {
      ++frames;
      lasted_ms += number(at + 8 + 12, 3);
    }
    at += 8 + size + size % 2;
  }
  EXPECT_TRUE(animated);
  // The encoder joins frames that are alike.
  EXPECT_GT(frames, 25u);
  EXPECT_LE(frames, 50u);
  EXPECT_NEAR(static_cast<double>(lasted_ms), 2000, 45);
}

// Nothing stands still in the street but the street: neighbours of the lapse are at least as alike as those
// of the same film taken evenly, by FFmpeg's own measure.
TEST_F(LapseByFfprobe, NeighboursAreAsAlikeAsThoseTakenEvenly) {
  ROOKERY_NEEDS_FILM();
  const auto chosen = folder.path() / "chosen.mp4";
  const auto even = folder.path() / "even.mp4";
  lapse(request, chosen);
  const test::Ended made =
      test::run_program({"ffmpeg", "-v", "error", "-nostdin", "-i", motion_jpeg().string(), "-vf",
                         "select=not(mod(n\\,6)),setpts=N/25/TB", "-r", "25", "-c:v", "libx264", "-preset",
                         "veryfast", "-crf", "23", "-pix_fmt", "yuv420p", even.string()});
  ASSERT_EQ(made.exit_code, 0) << made.err;
  EXPECT_GE(test::neighbours_ssim(chosen), test::neighbours_ssim(even));
}

}  // namespace
}  // namespace rookery::outside
