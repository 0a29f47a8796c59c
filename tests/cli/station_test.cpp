// A running station and the command line beside it: recording, export, check, and what a crash leaves.
#include <gtest/gtest.h>

#include <signal.h>

#include <fstream>
#include <thread>

#include "sim/board.h"
#include "tests/cli/rookery_program.h"
#include "tests/support/picture.h"

namespace rookery::test {
namespace {

constexpr std::chrono::seconds kDeadline{30};

// A make-believe board with pictures of its own, in a thread of its own.
class TestBoard {
 public:
  TestBoard() {
    std::vector<sim::Bytes> pictures;
    for (unsigned i = 0; i < 8; ++i) {
      const auto made = make_picture(320, 240, i);
      const auto* first = reinterpret_cast<const std::uint8_t*>(made.data());
      pictures.push_back(std::make_shared<const std::vector<std::uint8_t>>(first, first + made.size()));
    }
    sim::BoardOptions options;
    options.frames_per_second = 50;
    board_ = std::make_unique<sim::Board>(io_.get_executor(), options,
                                          std::make_shared<sim::ListSource>(pictures));
    EXPECT_TRUE(board_->start().has_value());
    thread_ = std::thread([this] { io_.run(); });
  }
  ~TestBoard() {
    board_->stop();
    io_.stop();
    thread_.join();
  }
  std::string address() const { return board_->stream_address(); }

 private:
  boost::asio::io_context io_;
  boost::asio::executor_work_guard<boost::asio::io_context::executor_type> work_{io_.get_executor()};
  std::unique_ptr<sim::Board> board_;
  std::thread thread_;
};

class ServeTest : public testing::Test {
 protected:
  std::unique_ptr<Background> serve() {
    auto station = std::make_unique<Background>(std::vector<std::string>{
        ROOKERY_PROGRAM, "serve", "--home", home_.path().string(), "--listen", "127.0.0.1:0", "--json"});
    const auto line = station->read_line();
    EXPECT_TRUE(line.has_value()) << station->err();
    if (line) address_ = std::string(boost::json::parse(*line).at("address").as_string());
    return station;
  }
  // Waits until the catalog, asked by the command line, has more than `bytes` of the camera.
  bool recorded(std::int64_t bytes) const {
    const auto until = std::chrono::steady_clock::now() + kDeadline;
    while (std::chrono::steady_clock::now() < until) {
      const auto list = home_.run_json({"camera", "list"});
      if (!list.empty() && list[0].at("recorded_bytes").as_int64() > bytes) return true;
    }
    return false;
  }
  Ended export_all(const std::string& file) const {
    return home_.run(
        {"export", "anvil", "--from", "2020-01-01T00:00:00Z", "--to", "2020-01-02T00:00:00Z", "-o", file});
  }

  Home home_;
  std::string address_;
};

TEST_F(ServeTest, TheCommandLineWorksBesideARunningStation) {
  const TestBoard board;
  const auto station = serve();
  ASSERT_EQ(home_.run({"camera", "add", "anvil", board.address()}).exit_code, 0);
  ASSERT_TRUE(recorded(100'000)) << station->err();
  EXPECT_EQ(home_.run({"archive", "check"}).exit_code, 0);

  const auto now = base::SystemClock().wall();
  const auto out = home_.path() / "clip.mkv";
  const auto lines =
      home_.run_json({"export", "anvil", "--from", base::to_rfc3339(now - std::chrono::hours(1)), "--to",
                      base::to_rfc3339(now), "-o", out.string()});
  ASSERT_EQ(lines.size(), 1U);
  EXPECT_GT(lines[0].at("frames").as_int64(), 10);
  EXPECT_TRUE(std::filesystem::exists(out));
  EXPECT_EQ(station->end(SIGTERM), 0);
}

TEST_F(ServeTest, AnEmptySpanSaysWhatIsRecorded) {
  const TestBoard board;
  const auto station = serve();
  ASSERT_EQ(home_.run({"camera", "add", "anvil", board.address()}).exit_code, 0);
  ASSERT_TRUE(recorded(10'000));
  const Ended ended = export_all((home_.path() / "clip.mkv").string());
  EXPECT_EQ(ended.exit_code, 2);
  EXPECT_NE(ended.err.find("20"), std::string::npos) << ended.err;
  EXPECT_FALSE(std::filesystem::exists(home_.path() / "clip.mkv"));
}

TEST_F(ServeTest, AfterAKillEverythingButTheLastSecondIsThere) {
  const TestBoard board;
  auto station = serve();
  ASSERT_EQ(home_.run({"camera", "add", "anvil", board.address()}).exit_code, 0);
  ASSERT_TRUE(recorded(300'000));
  EXPECT_EQ(station->end(SIGKILL), 128 + SIGKILL);
  station = serve();  // mends
  EXPECT_EQ(home_.run({"archive", "check"}).exit_code, 0) << home_.run({"archive", "check"}).out;
  EXPECT_EQ(station->end(SIGTERM), 0);
  const auto before = home_.run_json({"archive", "check"});
  ASSERT_FALSE(before.empty());
  EXPECT_GT(before.back().at("frames").as_int64(), 0);

  // And the catalog comes back from the files alone.
  std::filesystem::remove(home_.path() / "catalog.db");
  std::filesystem::remove(home_.path() / "catalog.db-wal");
  std::filesystem::remove(home_.path() / "catalog.db-shm");
  const auto rebuilt = home_.run_json({"archive", "rebuild"});
  ASSERT_EQ(rebuilt.size(), 1U);
  EXPECT_EQ(rebuilt[0].at("frames").as_int64(), before.back().at("frames").as_int64());
}

TEST_F(ServeTest, DamageIsFoundAndExitsWithOne) {
  const TestBoard board;
  auto station = serve();
  ASSERT_EQ(home_.run({"camera", "add", "anvil", board.address()}).exit_code, 0);
  ASSERT_TRUE(recorded(100'000));
  EXPECT_EQ(station->end(SIGTERM), 0);
  for (const auto& entry : std::filesystem::recursive_directory_iterator(home_.path() / "archive")) {
    if (entry.path().extension() != ".mkv") continue;
    std::fstream file(entry.path(), std::ios::in | std::ios::out | std::ios::binary);
    file.seekp(static_cast<std::streamoff>(std::filesystem::file_size(entry.path()) / 2));
    file << std::string(4096, '\0');
  }
  EXPECT_EQ(home_.run({"archive", "check"}).exit_code, 1);
}

TEST_F(ServeTest, APortInUseIsSaidClearly) {
  const auto station = serve();
  const Home other;
  const std::string listen = address_.substr(std::string("http://").size());
  const Ended ended = other.run({"serve", "--listen", listen});
  EXPECT_EQ(ended.exit_code, 3);
  EXPECT_NE(ended.err.find(listen.substr(listen.rfind(':') + 1)), std::string::npos) << ended.err;
}

TEST_F(ServeTest, TheDoorIsShutWithoutSignIn) {
  const auto station = serve();
  if (!has_program("curl")) GTEST_SKIP() << "curl is not installed";
  const auto status = [&](const std::string& path) {
    return run_program({"curl", "-s", "-o", "/dev/null", "-w", "%{http_code}", address_ + path}).out;
  };
  EXPECT_EQ(status("/healthz"), "200");
  for (const char* path : {"/api/v1/cameras", "/api/v1/station", "/api/v1/people", "/live/anvil.jpg",
                           "/live/anvil.mjpeg", "/metrics", "/api/v1/openapi.json"}) {
    EXPECT_EQ(status(path), "401") << path;
  }
}

}  // namespace
}  // namespace rookery::test
