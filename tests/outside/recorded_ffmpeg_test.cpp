// A film from outside goes the whole way: FFmpeg's program serves it, the station records it, a part is
// exported, and every frame in segment and export is, by its SHA-256, the one that was sent.
#include <gtest/gtest.h>

#include "archive/export.h"
#include "tests/outside/film.h"
#include "tests/outside/pull_program.h"
#include "tests/support/eventually.h"
#include "tests/web/web_station.h"

namespace rookery::test {
namespace {

constexpr int kFrames = 60;

// The SHA-256 of every frame in a file, in order: FFmpeg's framehash, which takes the packets as they are. A
// line of it is stream, dts, pts, duration, size, hash and what may follow.
std::vector<std::string> hashes_of(const std::filesystem::path& file) {
  const Ended ended = run_program({"ffmpeg", "-v", "error", "-nostdin", "-i", file.string(), "-map", "0:v",
                                   "-c", "copy", "-f", "framehash", "-hash", "sha256", "-"});
  EXPECT_EQ(ended.exit_code, 0) << ended.err;
  EXPECT_EQ(ended.err, "");
  std::vector<std::string> hashes;
  std::istringstream lines(ended.out);
  for (std::string line; std::getline(lines, line);) {
    if (line.empty() || line.front() == '#') continue;
    std::istringstream columns(line);
    std::string column;
    for (int n = 0; n < 6; ++n) std::getline(columns >> std::ws, column, ',');
    hashes.push_back(column);
  }
  return hashes;
}

// What the GNU program says of the files that FFmpeg wrote beside its stream.
std::vector<std::string> hashes_of_sent(const std::filesystem::path& folder) {
  std::vector<std::string> words = {"sha256sum"};
  for (int n = 1; n <= kFrames; ++n) words.push_back((folder / fmt::format("{:03}.jpg", n)).string());
  const Ended ended = run_program(words);
  EXPECT_EQ(ended.exit_code, 0) << ended.err;
  std::vector<std::string> hashes;
  std::istringstream lines(ended.out);
  for (std::string line; std::getline(lines, line);) hashes.push_back(line.substr(0, line.find(' ')));
  return hashes;
}

TEST(RecordedFromFfmpeg, SegmentAndExportHoldTheVeryFramesThatWereSent) {
  ROOKERY_NEEDS_FILM();
  const TempFolder folder;
  const std::string address = fmt::format("http://127.0.0.1:{}/", free_port());
  // One encoder, whose packets go to the one viewer and into files.
  Program server({program_named("ffmpeg"), "-nostdin", "-v", "error", "-i", outside::kFilm, "-frames:v",
                  std::to_string(kFrames), "-an", "-c:v", "mjpeg", "-q:v", "5", "-f", "tee", "-map", "0:v",
                  fmt::format("[f=image2]{}|"
                              "[f=mpjpeg:listen=1:content_type=multipart/x-mixed-replace;boundary=ffmpeg]{}",
                              (folder.path() / "%03d.jpg").string(), address)},
                 (folder.path() / "server.log").string());
  WebStation hall;
  camera::Settings settings(WebStation::name("street"));
  settings.stream_address = address;
  // It is refused until ffmpeg listens, and comes back.
  ASSERT_TRUE(hall.station().add(settings).has_value());
  const auto view = [&] { return hall.station().camera(settings.name).value(); };
  ASSERT_TRUE(eventually([&] { return view().recorder.written == kFrames; }, kDeadline))
      << text_of_file(folder.path() / "server.log") << view().recorder.written;
  EXPECT_EQ(server.wait(), 0) << text_of_file(folder.path() / "server.log");
  EXPECT_EQ(view().status.counters.received, static_cast<std::uint64_t>(kFrames));
  EXPECT_EQ(view().status.counters.rejected_total(), 0U);
  hall.station().stop();  // the segment is closed

  const std::vector<std::string> expected = hashes_of_sent(folder.path());
  ASSERT_EQ(expected.size(), static_cast<std::size_t>(kFrames));
  EXPECT_EQ(expected.front().size(), 64U);
  const auto behind = hall.station().clock().wall() + std::chrono::seconds(1);
  const auto segments =
      hall.station().segments().between(settings.name, behind - std::chrono::hours(1), behind);
  ASSERT_TRUE(segments.has_value());
  std::vector<std::string> recorded;  // in one segment, or two around the clock's round minute
  for (const archive::Segment& segment : *segments) {
    const auto part = hashes_of(hall.home() / "archive" / segment.path);
    recorded.insert(recorded.end(), part.begin(), part.end());
  }
  EXPECT_EQ(recorded, expected);

  const archive::ExportRequest request(settings.name, behind - std::chrono::hours(1), behind,
                                       archive::ExportFormat::matroska);
  const auto file = folder.path() / "street.mkv";
  const auto exported =
      archive::export_span(hall.station().catalog(), request, file, [](double) { return true; });
  ASSERT_TRUE(exported.has_value()) << exported.error().text();
  EXPECT_EQ(exported->overlapping, 0U);
  EXPECT_EQ(hashes_of(file), expected);
}

}  // namespace
}  // namespace rookery::test
