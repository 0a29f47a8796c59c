// `rookery demo`, started again in its own home: what was set there stays, and nobody is asked at yesterday's
// ports.
#include <gtest/gtest.h>

#include <signal.h>

#include "tests/cli/rookery_program.h"

namespace rookery::test {
namespace {

class DemoTest : public testing::Test {
 protected:
  // Runs a demo until it has said its address; returns what it wrote to standard error.
  std::string run_once() const {
    Background demo({std::string(ROOKERY_PROGRAM), "demo", "--home", home_.path().string(), "--json"});
    const auto line = demo.read_line(std::chrono::seconds(90));
    EXPECT_TRUE(line.has_value()) << demo.err();
    EXPECT_EQ(demo.end(SIGINT), 0) << demo.err();
    return demo.err();
  }
  Home home_;
};

TEST_F(DemoTest, StartedAgainKeepsWhatWasSetAndAsksNoBoardAtItsOldPort) {
  run_once();
  ASSERT_EQ(home_.run({"camera", "set", "anvil", "--sensitivity", "5"}).exit_code, 0);
  const std::string said = run_once();
  EXPECT_EQ(said.find("connection refused"), std::string::npos) << said;
  for (const auto& camera : home_.run_json({"camera", "list"})) {
    if (camera.at("name").as_string() != "anvil") continue;
    EXPECT_EQ(camera.at("sensitivity").as_int64(), 5);
    return;
  }
  FAIL() << "no anvil";
}

}  // namespace
}  // namespace rookery::test
