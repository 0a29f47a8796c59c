// What FFmpeg's own programs make of our files: no complaint, the right times, the very frames.
#include <gtest/gtest.h>

#include <sstream>

#include "archive/export.h"
#include "archive/mend.h"
#include "archive/segment_store.h"
#include "tests/archive/matroska_support.h"
#include "tests/support/needs.h"

namespace rookery::archive {
namespace {

using rookery::test::Ended;
using rookery::test::make_picture;
using rookery::test::run_program;
using rookery::test::TempFolder;
using std::chrono::milliseconds;
using test::kNoon;

class Ffprobe : public ::testing::Test {
 protected:
  void SetUp() override { ROOKERY_NEEDS_PROGRAM("ffprobe", "ffmpeg"); }

  // 40 frames, unevenly spaced as a board's are.
  std::unique_ptr<MatroskaWriter> write_frames(const std::filesystem::path& file) {
    auto writer = test::begin_segment(file, kNoon + milliseconds{250}, {160, 120});
    for (int i = 0; i < 40; ++i) {
      times_ms.push_back(i * 100 + (i * 37) % 23);
      pictures.push_back(make_picture(160, 120, static_cast<unsigned>(i)));
      EXPECT_TRUE(writer->add(milliseconds{times_ms.back()}, pictures.back()).has_value());
    }
    return writer;
  }

  // What ffprobe prints for `entries`; fails when it has anything to complain about.
  static std::string probed(const std::filesystem::path& file, const std::string& entries) {
    const Ended ended =
        run_program({"ffprobe", "-v", "warning", "-show_entries", entries, "-of", "csv=p=0", file.string()});
    EXPECT_EQ(ended.exit_code, 0);
    EXPECT_EQ(ended.err, "");
    return ended.out;
  }

  void expect_packets(const std::filesystem::path& file) {
    std::istringstream lines{probed(file, "packet=pts_time,size")};
    std::size_t count = 0;
    for (std::string line; std::getline(lines, line); ++count) {
      ASSERT_LT(count, times_ms.size());
      const auto comma = line.find(',');
      EXPECT_NEAR(std::stod(line), times_ms[count] / 1000.0, 0.001) << line;
      EXPECT_EQ(std::stoul(line.substr(comma + 1)), pictures[count].size()) << line;
    }
    EXPECT_EQ(count, times_ms.size());
  }

  const TempFolder folder;
  std::vector<int> times_ms;
  std::vector<test::Bytes> pictures;
};

TEST_F(Ffprobe, AcceptsAFinishedSegmentWithItsTimesAndDate) {
  const auto file = folder.path() / "a.mkv";
  ASSERT_TRUE(write_frames(file)->finish().has_value());
  expect_packets(file);
  EXPECT_EQ(probed(file, "stream=codec_name,width,height"), "mjpeg,160,120\n");
  EXPECT_EQ(probed(file, "format_tags=title,creation_time"), "anvil,2026-03-01T12:00:00.250000Z\n");
}

TEST_F(Ffprobe, AcceptsASegmentThatIsStillBeingWritten) {
  const auto file = folder.path() / "a.mkv";
  const auto writer = write_frames(file);
  expect_packets(file);
}

TEST_F(Ffprobe, AcceptsAMendedSegmentWithItsDuration) {
  const auto file = folder.path() / "a.mkv";
  write_frames(file).reset();
  std::filesystem::resize_file(file, std::filesystem::file_size(file) - 100);
  ASSERT_TRUE(mend_file(file, MendLock::take).has_value());
  times_ms.pop_back();
  pictures.pop_back();
  expect_packets(file);
  EXPECT_NEAR(std::stod(probed(file, "format=duration")), times_ms.back() / 1000.0, 0.2);
}

TEST_F(Ffprobe, AcceptsAFinishedSegmentThatLostItsEnd) {
  const auto file = folder.path() / "a.mkv";
  const auto whole = [&] {
    auto writer = write_frames(file);
    const auto bytes = writer->bytes();
    EXPECT_TRUE(writer->finish().has_value());
    return bytes;
  }();
  std::filesystem::resize_file(file, whole + 10);  // in the middle of the index
  ASSERT_TRUE(mend_file(file, MendLock::take).has_value());
  expect_packets(file);
}

TEST_F(Ffprobe, FfmpegCopiesOutTheVeryFrames) {
  const auto file = folder.path() / "a.mkv";
  ASSERT_TRUE(write_frames(file)->finish().has_value());
  const Ended ended =
      run_program({"ffmpeg", "-v", "warning", "-i", file.string(), "-c", "copy", "-f", "image2pipe", "-"});
  EXPECT_EQ(ended.exit_code, 0);
  std::string joined;
  for (const auto& picture : pictures)
    joined.append(reinterpret_cast<const char*>(picture.data()), picture.size());
  EXPECT_TRUE(ended.out == joined);
}

TEST_F(Ffprobe, AcceptsAnExportedMp4) {
  auto catalog = Catalog::open(folder.path()).value();
  Segment segment{base::CameraName::parse("anvil").value()};
  segment.path = "anvil/2026-03-01/120000.250Z.mkv";
  segment.start = kNoon + milliseconds{250};
  ASSERT_TRUE(write_frames(folder.path() / "archive" / segment.path)->finish().has_value());
  segment.end = segment.start + milliseconds{times_ms.back()};
  ASSERT_TRUE(SegmentStore{*catalog}.add(segment).has_value());
  const auto file = folder.path() / "a.mp4";
  ExportRequest request{segment.camera, kNoon, kNoon + std::chrono::minutes{1}, ExportFormat::mp4};
  request.frames_per_s = 10;
  const auto result = export_span(*catalog, request, file, [](double) { return true; });
  ASSERT_TRUE(result.has_value()) << result.error().text();
  EXPECT_EQ(probed(file, "stream=codec_name,width,height,pix_fmt,color_range,color_space,r_frame_rate"),
            "h264,160,120,yuv420p,tv,smpte170m,10/1\n");
  EXPECT_EQ(probed(file, "format_tags=creation_time"), "2026-03-01T12:00:00.000000Z\n");
  EXPECT_NEAR(std::stod(probed(file, "format=duration")), 4.0, 0.15);
}

}  // namespace
}  // namespace rookery::archive
