// Receivers, rules and snooze from the command line, and a station that tells a real program of what it saw.
#include <gtest/gtest.h>

#include "tests/cli/rookery_program.h"

namespace rookery::test {
namespace {

class NoticesCommand : public testing::Test {
 protected:
  void SetUp() override { ASSERT_EQ(home_.run({"camera", "add", "back-door", "--pushed"}).exit_code, 0); }
  Ended add_hook(const std::string& name = "hook") {
    return home_.run(
        {"receiver", "add", "webhook", name, "--address", "http://127.0.0.1:1/x", "--secret-stdin"},
        "a secret that is long\n");
  }
  Home home_;
};

TEST_F(NoticesCommand, ReceiversAreAddedShownChangedAndRemovedAndTheirSecretIsNot) {
  const Ended added = add_hook();
  ASSERT_EQ(added.exit_code, 0) << added.err;
  ASSERT_EQ(
      home_.run({"receiver", "add", "mqtt", "broker", "--host", "127.0.0.1", "--tls", "true"}).exit_code, 0);
  ASSERT_EQ(home_
                .run({"receiver", "add", "mail", "mail", "--host", "127.0.0.1", "--from", "hall@example.org",
                      "--to", "marta@example.org", "--to", "ines@example.org"})
                .exit_code,
            0);
  const auto list = home_.run_json({"receiver", "list"});
  ASSERT_EQ(list.size(), 3u);
  EXPECT_TRUE(list[0].at("has_secret").as_bool());
  EXPECT_EQ(list[1].at("way").at("port").as_int64(), 8883);
  EXPECT_EQ(list[2].at("way").at("to").as_array().size(), 2u);
  EXPECT_EQ(home_.run({"receiver", "list", "--json"}).out.find("a secret"), std::string::npos);
  ASSERT_EQ(home_.run({"receiver", "set", "hook", "--enabled", "false"}).exit_code, 0);
  EXPECT_FALSE(home_.run_json({"receiver", "list"})[0].at("enabled").as_bool());
  ASSERT_EQ(home_.run({"receiver", "remove", "mail"}).exit_code, 0);
  EXPECT_EQ(home_.run_json({"receiver", "list"}).size(), 2u);
  EXPECT_EQ(home_.run({"receiver", "remove", "mail"}).exit_code, 2);
  EXPECT_EQ(home_.run({"receiver", "add", "pigeon", "x"}).exit_code, 2);
  EXPECT_EQ(home_.run({"receiver", "add", "mail", "x"}).exit_code, 2);
}

TEST_F(NoticesCommand, ATestSaysWhatTheOtherSideAnswers) {
  ASSERT_EQ(add_hook().exit_code, 0);
  const Ended ended = home_.run({"receiver", "test", "hook"});
  EXPECT_EQ(ended.exit_code, 3);
  EXPECT_NE(ended.err.find("127.0.0.1:1"), std::string::npos) << ended.err;
}

TEST_F(NoticesCommand, RulesAreAddedShownChangedAndRemoved) {
  ASSERT_EQ(add_hook().exit_code, 0);
  const Ended added = home_.run({"rule", "add", "nights", "--receiver", "hook", "--camera", "back-door",
                                 "--cause", "motion", "--day", "friday", "--from", "22:00", "--until",
                                 "06:00", "--quiet-s", "60", "--least-peak", "2"});
  ASSERT_EQ(added.exit_code, 0) << added.err;
  auto rule = home_.run_json({"rule", "list"})[0];
  EXPECT_EQ(rule.at("from").as_string(), "22:00");
  EXPECT_EQ(rule.at("least_peak").as_double(), 0.02);
  EXPECT_EQ(rule.at("cameras").as_array()[0].as_string(), "back-door");
  ASSERT_EQ(home_.run({"rule", "set", "nights", "--all-cameras", "--at-end", "true"}).exit_code, 0);
  rule = home_.run_json({"rule", "list"})[0];
  EXPECT_TRUE(rule.at("cameras").is_null());
  EXPECT_TRUE(rule.at("at_end").as_bool());
  EXPECT_EQ(rule.at("quiet_s").as_int64(), 60);
  EXPECT_EQ(home_.run({"rule", "set", "nights", "--from", "25:00"}).exit_code, 2);
  EXPECT_EQ(home_.run({"rule", "set", "nights", "--receiver", "nobody"}).exit_code, 2);
  ASSERT_EQ(home_.run({"snooze", "2027-01-01T00:00:00Z", "--rule", "nights"}).exit_code, 0);
  EXPECT_TRUE(home_.run_json({"rule", "list"})[0].at("snoozed_until").is_string());
  ASSERT_EQ(home_.run({"snooze", "off", "--rule", "nights"}).exit_code, 0);
  EXPECT_EQ(home_.run({"snooze", "tomorrow"}).exit_code, 2);
  EXPECT_EQ(home_.run({"rule", "remove", "nights"}).exit_code, 0);
  EXPECT_TRUE(home_.run_json({"rule", "list"}).empty());
  EXPECT_NE(home_.run({"notices"}).out.find("No notices"), std::string::npos);
}

}  // namespace
}  // namespace rookery::test
