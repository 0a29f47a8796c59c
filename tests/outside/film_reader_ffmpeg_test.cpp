// Films that FFmpeg's program wrote, in every container that we name: the pictures are those that the program
// itself takes out of them, byte for byte, and people who walk by make events.
#include <gtest/gtest.h>

#include <fstream>

#include "archive/film_reader.h"
#include "station/replay.h"
#include "tests/outside/film.h"
#include "tests/outside/shell.h"

namespace rookery {
namespace {

namespace fs = std::filesystem;

constexpr int kFrames = 60;

class FfmpegFilms : public testing::Test {
 protected:
  void SetUp() override {
    ROOKERY_NEEDS_FILM();
    convert(fmt::format("-i {} -frames:v {} -an -c:v mjpeg -q:v 4", outside::kFilm, kFrames), "film.mkv");
  }
  void convert(const std::string& how, const std::string& to) const {
    outside::output_of(
        fmt::format("cd '{}' && ffmpeg -v error -nostdin -threads 1 {} {}", folder_.string(), how, to));
  }
  std::vector<std::byte> bytes_of(const std::string& name) const {
    std::ifstream in(folder_ / name, std::ios::binary);
    const std::string text{std::istreambuf_iterator<char>(in), {}};
    const auto bytes = std::as_bytes(std::span(text));
    return {bytes.begin(), bytes.end()};
  }

  test::TempFolder temp_;
  fs::path folder_ = temp_.path();
};

TEST_F(FfmpegFilms, EveryContainerGivesWhatTheProgramTakesOut) {
  convert("-i film.mkv -c copy -f image2", "%03d.jpg");
  for (const char* name : {"film.mkv", "a.avi", "a.mov", "a.mp4", "a.mpjpeg", "a.mjpeg"}) {
    SCOPED_TRACE(name);
    if (name[0] == 'a')
      convert("-i film.mkv -c copy", std::string(name) == "a.mpjpeg" ? "-f mpjpeg a.mpjpeg" : name);
    archive::FilmSpan span;
    span.frames_per_s = 10;
    auto reader = archive::FilmReader::open(folder_ / name, span);
    ASSERT_TRUE(reader.has_value()) << reader.error().text();
    for (int i = 0; i < kFrames; ++i) {
      const auto at = (*reader)->step();
      ASSERT_TRUE(at.has_value() && at->has_value()) << i;
      EXPECT_EQ(**at, std::chrono::milliseconds(100 * i));
      const auto picture = (*reader)->read().value();
      ASSERT_EQ(std::vector<std::byte>(picture.begin(), picture.end()),
                bytes_of(fmt::format("{:03}.jpg", i + 1)))
          << i;
    }
    EXPECT_FALSE((*reader)->step().value().has_value());
  }
}

TEST_F(FfmpegFilms, PeopleWhoWalkByAreAnEvent) {
  const auto reader = archive::FilmReader::open(folder_ / "film.mkv").value();
  std::vector<vision::MotionEvent> events;
  const auto report = station::replay(
      *reader, {}, [&](const vision::MotionEvent& event) { events.push_back(event); }, [] { return true; });
  ASSERT_TRUE(report.has_value()) << report.error().text();
  EXPECT_EQ(report->pictures, static_cast<std::uint64_t>(kFrames));
  EXPECT_EQ(report->looked_at, static_cast<std::uint64_t>(kFrames) / 2);
  EXPECT_EQ(report->bad, 0U);
  ASSERT_FALSE(events.empty());
  EXPECT_EQ(events[0].cause, vision::MotionEvent::Cause::motion);
}

TEST_F(FfmpegFilms, AnotherCodecIsNamedAndTheAdviceWorks) {
  convert("-i film.mkv -c:v mpeg2video", "other.mpg");  // tells its streams only while it is read
  const auto refused = archive::FilmReader::open(folder_ / "other.mpg");
  ASSERT_FALSE(refused.has_value());
  EXPECT_NE(refused.error().detail.find("mpeg2video"), std::string::npos) << refused.error().text();
  const std::string& remedy = refused.error().remedy;
  const auto command = remedy.find("ffmpeg ");
  ASSERT_NE(command, std::string::npos) << remedy;
  outside::output_of(
      fmt::format("cd '{}' && {} -v error -nostdin", folder_.string(), remedy.substr(command)));
  EXPECT_TRUE(archive::FilmReader::open(folder_ / "other-mjpeg.mkv").has_value());
}

}  // namespace
}  // namespace rookery
