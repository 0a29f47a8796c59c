// The station's streams read back by programs that the project did not write.
#include <fstream>

#include "tests/support/needs.h"
#include "tests/web/web_station.h"

namespace rookery::test {
namespace {

std::string contents(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

// A camera that somebody pushes pictures to for as long as the test runs.
class Pusher {
 public:
  Pusher(WebStation& hall, std::string camera) {
    for (unsigned number = 0; number < 40; ++number) {
      pictures_.push_back(make_picture(320, 240, number));
      texts_.insert(text_of(pictures_.back()));
    }
    thread_ = std::thread([this, &hall, camera] {
      asio::io_context io;
      asio::steady_timer timer(io, std::chrono::steady_clock::now());
      for (std::size_t number = 0; !stop_; ++number) {
        hall.push(camera, pictures_[number % pictures_.size()]);
        timer.expires_at(timer.expiry() + std::chrono::milliseconds{40});
        timer.wait();
      }
    });
  }
  ~Pusher() {
    stop_ = true;
    thread_.join();
  }
  bool sent(const std::string& jpeg) const { return texts_.contains(jpeg); }

 private:
  std::vector<std::vector<std::byte>> pictures_;
  std::set<std::string> texts_;
  std::atomic<bool> stop_{false};
  std::thread thread_;
};

std::string token_for(WebStation& hall, archive::TokenUse use) {
  return hall.station()
      .people()
      .new_token(WebStation::name("anvil"), "outside", use, hall.station().clock().wall())
      .value()
      .secret;
}
std::string address(WebStation& hall, const std::string& kind, const std::string& token) {
  return fmt::format("http://{}/live/anvil.{}?token={}", hall.host(), kind, token);
}

TEST(StationReadByCurl, FetchesTheStillAndIsToldWhenItIsUnchanged) {
  ROOKERY_NEEDS_PROGRAM("curl", "curl");
  WebStation hall;
  TempFolder folder;
  hall.add_camera("anvil");
  const auto jpeg = make_picture(320, 240, 1);
  hall.push("anvil", jpeg);
  const std::string from = address(hall, "jpg", token_for(hall, archive::TokenUse::watch));
  const std::string file = (folder.path() / "still.jpg").string();
  const std::string tag = (folder.path() / "tag").string();
  const auto fetch = [&] {
    return run_program({"curl", "-sS", "--fail", "-w", "%{http_code}", "--etag-save", tag, "--etag-compare",
                        tag, "-o", file, from});
  };
  const Ended first = fetch();
  EXPECT_EQ(first.out, "200") << first.err;
  EXPECT_EQ(contents(file), text_of(jpeg));
  EXPECT_EQ(fetch().out, "304");
}

TEST(StationReadByCurl, PushesAStill) {
  ROOKERY_NEEDS_PROGRAM("curl", "curl");
  WebStation hall;
  TempFolder folder;
  hall.add_camera("anvil");
  const auto jpeg = make_picture(1600, 1200, 1, 97);  // large enough for curl to ask first
  const auto file = folder.path() / "still.jpg";
  std::ofstream(file, std::ios::binary) << text_of(jpeg);
  const Ended pushed =
      run_program({"curl", "-sS", "-w", "%{http_code}", "-H", "Content-Type: image/jpeg", "-H",
                   "Authorization: Bearer " + token_for(hall, archive::TokenUse::push), "--data-binary",
                   "@" + file.string(), fmt::format("http://{}/api/v1/cameras/anvil/stills", hall.host())});
  EXPECT_EQ(pushed.out, "204") << pushed.err;
  EXPECT_EQ(hall.ask("GET", "/live/anvil.jpg", hall.owner()).body, text_of(jpeg));
}

TEST(StationReadByFfprobe, ReadsTheStreamAsMultipartMotionJpeg) {
  ROOKERY_NEEDS_PROGRAM("ffprobe", "ffmpeg");
  WebStation hall;
  hall.add_camera("anvil");
  Pusher pusher(hall, "anvil");
  const Ended ended = run_program({"ffprobe", "-v", "error", "-f", "mpjpeg", "-show_entries",
                                   "stream=codec_name,width,height", "-of", "csv=p=0",
                                   address(hall, "mjpeg", token_for(hall, archive::TokenUse::watch))});
  EXPECT_EQ(ended.exit_code, 0) << ended.err;
  EXPECT_EQ(ended.out, "mjpeg,320,240\n");
  EXPECT_EQ(ended.err, "");
}

TEST(StationReadByFfmpeg, CopiesTheVeryFramesThatWereSent) {
  ROOKERY_NEEDS_PROGRAM("ffmpeg", "ffmpeg");
  WebStation hall;
  TempFolder folder;
  hall.add_camera("anvil");
  Pusher pusher(hall, "anvil");
  for (const std::string strict : {"0", "1"}) {
    const Ended ended = run_program(
        {"ffmpeg", "-v", "error", "-nostdin", "-y", "-f", "mpjpeg", "-strict_mime_boundary", strict, "-i",
         address(hall, "mjpeg", token_for(hall, archive::TokenUse::watch)), "-frames:v", "25", "-c:v", "copy",
         "-f", "image2", (folder.path() / ("frame" + strict + "-%02d.jpg")).string()});
    EXPECT_EQ(ended.exit_code, 0) << ended.err;
    for (int number = 1; number <= 25; ++number) {
      const std::string frame = contents(folder.path() / fmt::format("frame{}-{:02}.jpg", strict, number));
      ASSERT_TRUE(pusher.sent(frame)) << "frame " << number << ", " << frame.size() << " bytes";
    }
  }
}

}  // namespace
}  // namespace rookery::test
