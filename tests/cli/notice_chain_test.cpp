// From a board's pictures to a program that is told: the whole station, a real receiver and a real broker.
#include <gtest/gtest.h>
#include <signal.h>

#include "tests/cli/rookery_program.h"
#include "tests/cli/test_board.h"
#include "tests/outside/pull_program.h"
#include "tests/support/crossing.h"
#include "tests/support/eventually.h"
#include "tests/support/needs.h"

namespace rookery::test {
namespace {

class NoticeChain : public testing::Test {
 protected:
  // Six seconds in which nothing moves, then what crosses, then nothing again; over and over.
  static std::vector<sim::Bytes> pictures() {
    std::vector<sim::Bytes> made;
    for (int i = 10 * (kCrossingFrom_s - 6); i < 10 * (kCrossingTo_s + 7); ++i) {
      const auto jpeg = crossing_at(i / 10.0);
      const auto* first = reinterpret_cast<const std::uint8_t*>(jpeg.data());
      made.push_back(std::make_shared<const std::vector<std::uint8_t>>(first, first + jpeg.size()));
    }
    return made;
  }
  std::unique_ptr<Background> serve() {
    auto station = std::make_unique<Background>(std::vector<std::string>{
        ROOKERY_PROGRAM, "serve", "--home", home_.path().string(), "--listen", "127.0.0.1:0", "--json"});
    EXPECT_TRUE(station->read_line().has_value()) << station->err();
    return station;
  }
  void add_camera() {
    ASSERT_EQ(home_
                  .run({"camera", "add", "back-door", board_.address(), "--title", "Back door", "--record",
                        "events", "--pre-roll-ms", "1000", "--post-roll-ms", "1000"})
                  .exit_code,
              0);
  }
  void add_rule(const char* receiver) {
    const Ended added = home_.run({"rule", "add", receiver, "--receiver", receiver, "--quiet-s", "0"});
    ASSERT_EQ(added.exit_code, 0) << added.err;
  }
  const Home home_;
  const TestBoard board_{pictures(), 10};
};

TEST_F(NoticeChain, WhatCrossesThePictureIsToldToAProgramWithItsStill) {
  ROOKERY_NEEDS(std::filesystem::exists("/usr/bin/python3"),
                "there is no /usr/bin/python3 (Debian package python3)");
  const int port = free_port();
  Background program({"/usr/bin/python3", std::string(SOURCE_ROOT) + "/tests/outside/notice_https.py",
                      std::to_string(port), "204"});
  ASSERT_EQ(program.read_line(), "ready") << program.err();
  add_camera();
  ASSERT_EQ(home_
                .run({"receiver", "add", "webhook", "program", "--address",
                      "http://127.0.0.1:" + std::to_string(port) + "/told", "--secret-stdin"},
                     "a secret that is long\n")
                .exit_code,
            0);
  add_rule("program");
  const auto station = serve();
  const auto line = program.read_line(std::chrono::seconds(60));
  ASSERT_TRUE(line.has_value()) << station->err();
  const auto told = boost::json::parse(*line).as_object();
  EXPECT_TRUE(told.at("signed").as_bool());
  const auto& body = told.at("body").as_object();
  EXPECT_EQ(body.at("camera").as_string(), "back-door");
  EXPECT_EQ(body.at("title").as_string(), "Back door");
  EXPECT_EQ(body.at("event").at("cause").as_string(), "motion");
  EXPECT_TRUE(std::string(body.at("still").as_string()).starts_with("/9j/"));  // a JPEG's first bytes
  // The log has it, recorded around it, and it is over some seconds later.
  const auto id = body.at("event").at("id").as_int64();
  ASSERT_TRUE(eventually(
      [&] {
        const auto events = home_.run_json({"events", "back-door"});
        return !events.empty() && events.back().at("id").as_int64() == id &&
               !events.back().at("end").is_null() && events.back().at("still").as_bool();
      },
      std::chrono::seconds(40)));
  ASSERT_TRUE(eventually([&] { return !home_.run_json({"notices", "--state", "delivered"}).empty(); }));
}

TEST_F(NoticeChain, ABrokerTellsThatAStationThatWasKilledIsGone) {
  ROOKERY_NEEDS_PROGRAM("mosquitto", "mosquitto");
  ROOKERY_NEEDS_PROGRAM("mosquitto_sub", "mosquitto-clients");
  const int port = free_port();
  const TempFolder folder;
  write_file(folder.path() / "mosquitto.conf",
             "listener " + std::to_string(port) + " 127.0.0.1\nallow_anonymous true\n");
  Background broker({program_named("mosquitto"), "-c", (folder.path() / "mosquitto.conf").string()});
  add_camera();
  ASSERT_EQ(home_
                .run({"receiver", "add", "mqtt", "broker", "--host", "127.0.0.1", "--port",
                      std::to_string(port), "--prefix", "hall"})
                .exit_code,
            0);
  ASSERT_TRUE(eventually([&] {
    return home_.run({"receiver", "test", "broker"}).exit_code == 0;
  })) << broker.err();
  const auto station = serve();
  Background listener({"mosquitto_sub", "-h", "127.0.0.1", "-p", std::to_string(port), "-t", "hall/station"});
  std::string first;
  ASSERT_TRUE(eventually([&] {
    first = listener.read_line().value_or("");
    return first == "online";
  })) << station->err();
  station->end(SIGKILL);
  EXPECT_EQ(listener.read_line(), "offline") << listener.err();
}

}  // namespace
}  // namespace rookery::test
