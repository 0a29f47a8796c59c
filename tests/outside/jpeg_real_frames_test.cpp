// Frames of a real film, encoded and framed by FFmpeg's program: the reader, the walk, the luma grid and the
// scaling agree with what FFmpeg says of the same bytes.
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "jpeg/luma_grid.h"
#include "jpeg/scale.h"
#include "jpeg/walk.h"
#include "tests/outside/film.h"
#include "tests/outside/shell.h"
#include "tests/proto/multipart_support.h"

namespace rookery {
namespace {

namespace fs = std::filesystem;

using outside::kFilm;
constexpr int kFrames = 25;
constexpr int kWidth_px = outside::kFilmWidth_px;
constexpr int kHeight_px = outside::kFilmHeight_px;

class RealFrames : public testing::Test {
 protected:
  void SetUp() override { ROOKERY_NEEDS_FILM(); }

  // FFmpeg's JPEGs of the film's first frames, written by it one file a frame.
  void encode(const std::string& options) {
    outside::output_of(command(options) + " -c:v mjpeg -f image2 '" + (folder_ / "%03d.jpg").string() + "'");
    for (int i = 1; i <= kFrames; ++i) {
      std::ifstream in(file(i), std::ios::binary);
      const std::string text{std::istreambuf_iterator<char>(in), {}};
      const auto bytes = std::as_bytes(std::span(text));
      frames_.emplace_back(bytes.begin(), bytes.end());
      ASSERT_FALSE(frames_.back().empty()) << i;
    }
  }
  std::string command(const std::string& options) const {
    return fmt::format("ffmpeg -v error -nostdin -threads 1 -i {} -frames:v {} -bitexact {} -threads 1",
                       kFilm, kFrames, options);
  }
  fs::path file(int number) const { return folder_ / fmt::format("{:03}.jpg", number); }

  test::TempFolder temp_;
  fs::path folder_ = temp_.path();
  std::vector<std::vector<std::byte>> frames_;
};

TEST_F(RealFrames, FfmpegsMultipartStreamComesOutByteIdentical) {
  encode("-q:v 5");
  const auto stream =
      outside::output_of(command("-q:v 5") + " -c:v mjpeg -f mpjpeg -boundary_tag saltmarsh -");
  const auto heard = proto::listen("saltmarsh", proto::text_of(stream), 5744);
  ASSERT_EQ(heard.parts.size(), frames_.size());
  for (std::size_t i = 0; i < frames_.size(); ++i) {
    EXPECT_EQ(heard.parts[i].body, frames_[i]) << i;
    EXPECT_FALSE(heard.parts[i].length_lied) << i;
  }
}

TEST_F(RealFrames, WalkReadsWhatFfmpegWrote) {
  for (const auto& [format, sampling] : {std::pair{"yuvj420p", jpeg::Sampling::s420},
                                         {"yuvj422p", jpeg::Sampling::s422},
                                         {"yuvj444p", jpeg::Sampling::s444}}) {
    frames_.clear();
    encode(fmt::format("-q:v 4 -pix_fmt {}", format));
    for (const auto& frame : frames_) {
      const auto result = jpeg::walk(frame);
      ASSERT_TRUE(std::holds_alternative<jpeg::PictureInfo>(result))
          << name_of(std::get<jpeg::BrokenKind>(result));
      const auto& info = std::get<jpeg::PictureInfo>(result);
      EXPECT_EQ(info.width_px, kWidth_px);
      EXPECT_EQ(info.height_px, kHeight_px);
      EXPECT_EQ(info.components, 3);
      EXPECT_EQ(info.sampling, sampling) << format;
      EXPECT_EQ(info.padding_bytes, 0u);
      EXPECT_TRUE(jpeg::compute_scaled(frame, 320, 75).has_value()) << format;
      EXPECT_EQ(std::get<jpeg::BrokenKind>(jpeg::walk(std::span(frame).first(frame.size() / 2))),
                jpeg::BrokenKind::no_end);
    }
  }
}

// Another decoder, another scaler: FFmpeg decodes the same file in full and averages each 8×8 block.
TEST_F(RealFrames, LumaGridIsTheMeanOfWhatFfmpegDecodes) {
  encode("-q:v 4");
  jpeg::LumaGrid grid;
  for (const int number : {1, 12, kFrames}) {
    const auto plane = outside::output_of(
        fmt::format("ffmpeg -v error -nostdin -i '{}' -vf extractplanes=y -f rawvideo -pix_fmt gray -",
                    file(number).string()));
    ASSERT_EQ(plane.size(), static_cast<std::size_t>(kWidth_px * kHeight_px));
    ASSERT_TRUE(jpeg::compute_luma_grid(frames_[static_cast<std::size_t>(number) - 1], grid).has_value());
    EXPECT_FALSE(grid.damaged);
    ASSERT_EQ(grid.width, kWidth_px / 8);
    ASSERT_EQ(grid.height, kHeight_px / 8);
    for (int y = 0; y < grid.height; ++y) {
      for (int x = 0; x < grid.width; ++x) {
        int sum = 0;
        for (int i = 0; i < 64; ++i) {
          sum += std::to_integer<int>(
              plane[static_cast<std::size_t>((8 * y + i / 8) * kWidth_px + 8 * x + i % 8)]);
        }
        // The block's DC term is its mean but for what clipping to 0–255 takes off the decoded samples.
        ASSERT_NEAR(grid.cells[static_cast<std::size_t>(y * grid.width + x)], sum / 64.0, 4.0)
            << x << "," << y;
      }
    }
  }
}

TEST_F(RealFrames, FfmpegAcceptsScaledFrames) {
  encode("-q:v 4");
  const auto scaled = jpeg::compute_scaled(frames_[0], 320, 75);
  ASSERT_TRUE(scaled.has_value() && scaled->has_value());
  const fs::path path = folder_ / "scaled.jpg";
  std::ofstream(path, std::ios::binary)
      .write(reinterpret_cast<const char*>((*scaled)->data()),
             static_cast<std::streamsize>((*scaled)->size()));
  const auto said = outside::output_of(fmt::format(
      "ffprobe -v error -show_entries stream=codec_name,width,height -of csv=p=0 '{}'", path.string()));
  EXPECT_EQ(proto::text_of(said), "mjpeg,384,288\n");  // 4/8 is the smallest eighth that gives 320 px
  // FFmpeg's own picture at that size is the same but for the two scalers' kernels.
  const auto similarity =
      outside::output_of(fmt::format("ffmpeg -v error -nostdin -i '{}' -i '{}' -lavfi "
                                     "'[1]scale=384:288:flags=area[b];[0][b]psnr=stats_file=-' -f null - "
                                     "| sed 's/.*psnr_y:\\([0-9.]*\\).*/\\1/'",
                                     path.string(), file(1).string()));
  EXPECT_GT(std::stod(proto::text_of(similarity)), 28.0) << "dB luma";
}

}  // namespace
}  // namespace rookery
