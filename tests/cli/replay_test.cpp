// rookery replay: what crosses a film, or a recording, is told as scripts and people need it.
#include <gtest/gtest.h>

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/stat.h>
#include <unistd.h>

#include <atomic>
#include <fstream>
#include <thread>

#include "archive/recorder.h"
#include "tests/cli/rookery_program.h"
#include "tests/support/crossing.h"
#include "tests/support/eventually.h"
#include "tests/support/hand_clock.h"

namespace rookery::test {
namespace {

constexpr int kFramesPerS = 10;
// The middle of three bands, in which the block crosses.
constexpr const char* kMiddleMask = "1x3@320x240:1,1,1";

class ReplayCommand : public testing::Test {
 protected:
  static void SetUpTestSuite() {
    for (int i = 0; i < kCrossingFilm_s * kFramesPerS; ++i)
      pictures().push_back(crossing_at(static_cast<double>(i) / kFramesPerS));
  }
  static std::vector<std::vector<std::byte>>& pictures() {
    static std::vector<std::vector<std::byte>> made;
    return made;
  }

  ReplayCommand() { write(film_, pictures().size()); }

  // JPEGs one behind the other.
  static void write(const std::string& file, std::size_t count) {
    std::ofstream out(file, std::ios::binary);
    for (std::size_t i = 0; i < count; ++i)
      out.write(reinterpret_cast<const char*>(pictures()[i].data()),
                static_cast<std::streamsize>(pictures()[i].size()));
  }
  std::vector<std::string> words(std::vector<std::string> more = {}) const {
    more.insert(more.begin(), {"replay", film_, "--frames-per-s", std::to_string(kFramesPerS)});
    return more;
  }
  Ended run(std::vector<std::string> more = {}) const { return home_.run(words(std::move(more))); }

  Home home_;
  TempFolder folder_;
  std::string film_ = (folder_.path() / "film.mjpeg").string();
};

double number(const boost::json::object& object, const char* key) {
  return object.at(key).to_number<double>();
}

TEST_F(ReplayCommand, JsonIsOneObjectAnEventAndLine) {
  const auto events = home_.run_json(words());
  ASSERT_EQ(events.size(), 1U);
  const auto& event = events[0];
  EXPECT_NEAR(number(event, "start_s"), kCrossingFrom_s, 0.7);
  EXPECT_NEAR(number(event, "end_s"), kCrossingTo_s, 1.2);
  EXPECT_GE(number(event, "best_s"), number(event, "start_s"));
  EXPECT_LE(number(event, "best_s"), number(event, "end_s"));
  EXPECT_GT(number(event, "peak"), 0.01);
  EXPECT_LT(number(event, "peak"), 0.15);
  EXPECT_EQ(event.at("cause").as_string(), "motion");
  const auto& region = event.at("region").as_object();
  EXPECT_LT(number(region, "x"), 0.15);
  EXPECT_GT(number(region, "w"), 0.8);
  EXPECT_NEAR(number(region, "y"), 0.375, 0.08);
  EXPECT_NEAR(number(region, "h"), 0.25, 0.1);
  EXPECT_FALSE(event.contains("start"));  // a film has no date
}

TEST_F(ReplayCommand, TextIsALineAnEventAndTheSumIsOnStandardError) {
  const Ended ended = run();
  EXPECT_EQ(ended.exit_code, 0);
  EXPECT_EQ(std::count(ended.out.begin(), ended.out.end(), '\n'), 1) << ended.out;
  EXPECT_NE(ended.out.find(" %, middle, all across, motion"), std::string::npos) << ended.out;
  EXPECT_NE(ended.err.find("260 pictures of 25.9 s, 130 looked at; 1 event; "), std::string::npos)
      << ended.err;
  EXPECT_NE(ended.err.find("of real time"), std::string::npos) << ended.err;
  EXPECT_NE(ended.err.find("taken as 10 pictures a second"), std::string::npos) << ended.err;
}

TEST_F(ReplayCommand, AMaskOverItGivesNone) {
  EXPECT_TRUE(home_.run_json(words({"--mask", kMiddleMask})).empty());
  const std::string file = (folder_.path() / "mask.txt").string();
  std::ofstream(file) << kMiddleMask << '\n';
  const Ended ended = run({"--mask", file});
  EXPECT_EQ(ended.exit_code, 0);
  EXPECT_EQ(ended.out, "");
  EXPECT_NE(ended.err.find(" 0 events;"), std::string::npos) << ended.err;
  EXPECT_EQ(home_.run_json(words({"--mask", "1x3@320x240:2,1"})).size(), 1U);  // over another part
}

TEST_F(ReplayCommand, ASpanOfAFilmIsInSecondsOrMinutes) {
  EXPECT_TRUE(home_.run_json(words({"--to", "10"})).empty());
  const auto events = home_.run_json(words({"--from", "0:05", "--to", "0:00:24.5"}));
  ASSERT_EQ(events.size(), 1U);
  EXPECT_NEAR(number(events[0], "start_s"), kCrossingFrom_s, 0.7);  // still from the film's first picture
  const Ended behind = run({"--from", "1:00"});
  EXPECT_EQ(behind.exit_code, 2);
  EXPECT_NE(behind.err.find("25.900 s"), std::string::npos) << behind.err;
}

TEST_F(ReplayCommand, FewerPicturesASecondStillShowIt) {
  EXPECT_EQ(home_.run_json(words({"--rate", "2"})).size(), 1U);
  EXPECT_EQ(home_.run_json(words({"--rate", "60", "--sensitivity", "5"})).size(), 1U);
}

TEST_F(ReplayCommand, WrongWordsAreBadUse) {
  for (const std::vector<std::string>& more : std::vector<std::vector<std::string>>{
           {"--sensitivity", "6"},
           {"--sensitivity", "0"},
           {"--rate", "0"},
           {"--rate", "61"},
           {"--frames-per-s", "0"},
           {"--mask", "80x60"},
           {"--mask", "1x3@320x240:9"},
           {"--from", "noon"},
           {"--from", "-1"},
           {"--from", "1:75"},
           {"--from", "1:2:3:4"},
           {"--from", "2026-03-01T12:00:00Z"},
           {"--from", "9", "--to", "8"},
       }) {
    const Ended ended = run(more);
    EXPECT_EQ(ended.exit_code, 2) << more[0] << " " << more[1] << ended.err;
    EXPECT_EQ(ended.out, "") << more[0] << " " << more[1];
    EXPECT_EQ(std::count(ended.err.begin(), ended.err.end(), '\n'), 1) << ended.err;
  }
  EXPECT_EQ(home_.run({"replay"}).exit_code, 2);
}

TEST_F(ReplayCommand, WhatIsNoFilmSaysSo) {
  const std::string note = (folder_.path() / "note.txt").string();
  std::ofstream(note) << std::string(4000, 'a');
  for (const std::string& file : {note, folder_.path().string(), note + ".mkv"}) {
    const Ended ended = home_.run({"replay", file});
    EXPECT_EQ(ended.exit_code, 2) << file;
    EXPECT_NE(ended.err.find(file), std::string::npos) << ended.err;
  }
  const auto told = home_.run_json({"replay", note});
  ASSERT_EQ(told.size(), 1U);
  EXPECT_EQ(told[0].at("error").as_object().at("code").as_string(), "unsupported");
  const Ended neither = home_.run({"replay", "No Camera"});
  EXPECT_EQ(neither.exit_code, 2);
  EXPECT_NE(neither.err.find("there is no file"), std::string::npos) << neither.err;
}

TEST_F(ReplayCommand, ATruncatedFileIsLookedAtAsFarAsItGoes) {
  write(film_, 201);
  std::filesystem::resize_file(film_, std::filesystem::file_size(film_) - 500);
  const Ended ended = run({"--json"});
  EXPECT_EQ(ended.exit_code, 0) << ended.err;
  EXPECT_EQ(std::count(ended.out.begin(), ended.out.end(), '\n'), 1) << ended.out;
  EXPECT_NE(ended.err.find("Left out: 1 picture damaged, the first at 20.000 s"), std::string::npos)
      << ended.err;
}

TEST_F(ReplayCommand, ARecordingsEventsHaveTheirDates) {
  ASSERT_EQ(home_.run({"camera", "add", "anvil", "http://127.0.0.1:1/stream"}).exit_code, 0);
  const auto anvil = base::CameraName::parse("anvil").value();
  HandClock clock;
  const base::WallTime began = clock.wall();
  {
    auto catalog = archive::Catalog::open(home_.path()).value();
    archive::RecorderOptions options;
    options.keep_free_bytes = 0;
    options.segment_length = std::chrono::seconds(10);  // the block crosses from one into the next
    archive::Recorder recorder{*catalog, options, clock};
    for (std::size_t i = 0; i < pictures().size(); ++i) {
      recorder.record(anvil, std::make_shared<const camera::Frame>(
                                 pictures()[i], clock.wall(), clock.mono(), i + 1,
                                 camera::PixelSize{kCrossingWidth_px, kCrossingHeight_px}));
      clock.pass(std::chrono::milliseconds(1000 / kFramesPerS));
    }
  }
  const auto at = [&](double after_s) {
    return base::to_rfc3339(began + std::chrono::milliseconds(static_cast<std::int64_t>(after_s * 1000)));
  };
  const auto events = home_.run_json({"replay", "anvil", "--from", at(-60), "--to", at(60)});
  ASSERT_EQ(events.size(), 1U);
  const double start_s = number(events[0], "start_s");
  EXPECT_NEAR(start_s, kCrossingFrom_s, 0.7);
  EXPECT_EQ(events[0].at("start").as_string(), at(start_s));
  EXPECT_EQ(events[0].at("end").as_string(), at(number(events[0], "end_s")));
  EXPECT_EQ(events[0].at("best").as_string(), at(number(events[0], "best_s")));
  EXPECT_NE(home_.run({"replay", "anvil", "--from", at(-60), "--to", at(60)}).out.find(at(start_s) + " to "),
            std::string::npos);

  // The camera's own mask is taken, unless another is given.
  ASSERT_EQ(home_.run({"camera", "set", "anvil", "--mask", kMiddleMask}).exit_code, 0);
  EXPECT_TRUE(home_.run_json({"replay", "anvil", "--from", at(-60), "--to", at(60)}).empty());
  EXPECT_EQ(home_.run_json({"replay", "anvil", "--from", at(-60), "--to", at(60), "--mask", ""}).size(), 1U);

  const Ended empty = home_.run({"replay", "anvil", "--from", at(600), "--to", at(1200)});
  EXPECT_EQ(empty.exit_code, 2);
  EXPECT_NE(empty.err.find("the last before ends at"), std::string::npos) << empty.err;
  EXPECT_EQ(home_.run({"replay", "anvil", "--from", at(60), "--to", at(0)}).exit_code, 2);
  EXPECT_EQ(home_.run({"replay", "anvil", "--from", "90"}).exit_code, 2);
  EXPECT_EQ(home_.run({"replay", "nobody", "--from", at(-60), "--to", at(60)}).exit_code, 2);
}

// An endless film, through a pipe.
TEST_F(ReplayCommand, AnInterruptEndsItWithThree) {
  for (const int signal : {SIGINT, SIGTERM}) {
    const std::string pipe = (folder_.path() / ("endless" + std::to_string(signal) + ".mjpeg")).string();
    ASSERT_EQ(::mkfifo(pipe.c_str(), 0600), 0);
    const int fd = ::open(pipe.c_str(), O_RDWR | O_NONBLOCK | O_CLOEXEC);
    ASSERT_GE(fd, 0);
    std::atomic<bool> enough{false};
    std::atomic<std::size_t> taken{0};
    std::thread feeder([&] {
      std::size_t at = 0;
      const auto& picture = pictures()[0];
      while (!enough) {
        pollfd wait{fd, POLLOUT, 0};
        if (::poll(&wait, 1, 100) <= 0) continue;
        const ssize_t written = ::write(fd, picture.data() + at, picture.size() - at);
        if (written <= 0) continue;
        at = (at + static_cast<std::size_t>(written)) % picture.size();
        taken += static_cast<std::size_t>(written);
      }
    });
    Background replaying({ROOKERY_PROGRAM, "replay", pipe, "--home", home_.path().string()});
    EXPECT_TRUE(eventually([&] { return taken > (20U << 20); })) << replaying.err();
    EXPECT_EQ(replaying.end(signal), 3) << replaying.err();
    EXPECT_NE(replaying.err().find("stopped before the end"), std::string::npos) << replaying.err();
    enough = true;
    feeder.join();
    ::close(fd);
  }
}

}  // namespace
}  // namespace rookery::test
