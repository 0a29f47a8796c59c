// A stream that the project did not write: FFmpeg's program serves a clip as multipart motion JPEG over HTTP;
// what the pull publishes is byte for byte what the same encoder writes to files.
#include <gtest/gtest.h>

#include "camera/pull.h"
#include "tests/camera/pull_support.h"
#include "tests/outside/film.h"
#include "tests/outside/pull_program.h"

namespace rookery::camera::test {
namespace {

using rookery::test::free_port;
using rookery::test::Program;
using rookery::test::program_named;
using rookery::test::TempFolder;
using rookery::test::text_of_file;

constexpr int kFrames = 60;

std::vector<std::string> ffmpeg(const std::string& program, std::vector<std::string> end) {
  std::vector<std::string> out = {
      program, "-nostdin", "-v",    "error", "-i", outside::kFilm, "-frames:v", std::to_string(kFrames),
      "-an",   "-c:v",     "mjpeg", "-q:v",  "5",  "-threads",     "1",         "-bitexact"};
  out.insert(out.end(), std::make_move_iterator(end.begin()), std::make_move_iterator(end.end()));
  return out;
}

TEST(PullOutside, FfmpegsStreamArrivesByteForByte) {
  ROOKERY_NEEDS_FILM();
  const std::string program = program_named("ffmpeg");
  const TempFolder folder;
  const std::filesystem::path root = folder.path();
  {
    Program files(ffmpeg(program, {"-f", "image2", (root / "%03d.jpg").string()}),
                  (root / "files.log").string());
    ASSERT_EQ(files.wait(), 0) << text_of_file(root / "files.log");
  }
  const std::string address = fmt::format("http://127.0.0.1:{}/", free_port());
  Program server(ffmpeg(program, {"-f", "mpjpeg", "-content_type",
                                  "multipart/x-mixed-replace;boundary=ffmpeg", "-listen", "1", address}),
                 (root / "server.log").string());
  Running running;
  const base::SystemClock clock;
  Pull pull(running.executor(), stream_of(address), quick(), clock, 1);
  const EveryFrame seen(pull.feed());
  pull.start();  // it is refused until ffmpeg listens, and comes back
  ASSERT_TRUE(seen.wait_for(kFrames)) << text_of_file(root / "server.log");
  pull.stop();
  const auto frames = seen.frames();
  ASSERT_EQ(frames.size(), static_cast<std::size_t>(kFrames));
  for (int n = 0; n < kFrames; ++n) {
    EXPECT_EQ(text_of(frames[static_cast<std::size_t>(n)]->bytes),
              text_of_file(root / fmt::format("{:03}.jpg", n + 1)))
        << "frame " << n + 1;
    EXPECT_EQ(frames[static_cast<std::size_t>(n)]->size,
              (PixelSize{outside::kFilmWidth_px, outside::kFilmHeight_px}));
  }
  const Counters counters = pull.status().counters;
  expect_books_balance(counters);
  EXPECT_EQ(counters.rejected_total(), 0u);
}

}  // namespace
}  // namespace rookery::camera::test
