// Receivers, rules, snooze and the log of notices over HTTP.
#include <gtest/gtest.h>

#include "tests/support/picture.h"
#include "tests/web/web_station.h"

namespace rookery::test {
namespace {

namespace json = boost::json;

constexpr const char* kHook =
    R"({"name":"hook","kind":"webhook","way":{"address":"http://127.0.0.1:1/x"},"secret":"a secret that is long"})";

class NoticesApi : public testing::Test {
 protected:
  Answer ask(std::string_view method, const std::string& target, std::string_view body = {}) {
    return hall_.ask(method, "/api/v1" + target, hall_.owner(), body);
  }
  std::int64_t add_hook() {
    const Answer made = ask("POST", "/receivers", kHook);
    EXPECT_EQ(made.status, 201u) << made.body;
    return made.json().at("id").as_int64();
  }
  WebStation hall_;
};

TEST_F(NoticesApi, AReceiverIsAddedChangedAndForgottenAndItsSecretNeverShown) {
  const auto id = add_hook();
  const std::string place = "/receivers/" + std::to_string(id);
  Answer answer = ask("GET", "/receivers");
  EXPECT_EQ(answer.body.find("a secret that is long"), std::string::npos);
  EXPECT_TRUE(answer.json().at("receivers").at(0).at("has_secret").as_bool());
  answer = ask("PATCH", place, R"({"name":"the hook","way":{"address":"http://127.0.0.1:1/y"}})");
  EXPECT_EQ(answer.status, 200u) << answer.body;
  EXPECT_EQ(answer.json().at("way").at("address").as_string(), "http://127.0.0.1:1/y");
  EXPECT_TRUE(answer.json().at("has_secret").as_bool());
  EXPECT_EQ(ask("DELETE", place).status, 204u);
  EXPECT_EQ(ask("DELETE", place).status, 404u);
  EXPECT_EQ(ask("PATCH", "/receivers/x", "{}").status, 404u);
}

TEST_F(NoticesApi, WhatIsWrongWithAReceiverIsSaid) {
  for (const char* body :
       {R"({})", R"({"name":"x","kind":"pigeon","way":{}})", R"({"name":"x","kind":"mqtt"})",
        R"({"name":"x","kind":"mqtt","way":{"hots":"a"}})",
        R"({"name":"x","kind":"mail","way":{"host":"a"}})",
        R"({"name":"x","kind":"webhook","way":{"address":"http://a/"},"secret":"short"})", R"({"name":5})"}) {
    EXPECT_EQ(ask("POST", "/receivers", body).status, 422u) << body;
  }
  add_hook();
  EXPECT_EQ(ask("POST", "/receivers", kHook).status, 409u);
}

TEST_F(NoticesApi, ARuleIsAddedChangedAndRemoved) {
  const auto receiver = add_hook();
  const Answer made = ask(
      "POST", "/rules",
      fmt::format(
          R"({{"name":"nights","receivers":[{}],"cameras":["back-door"],"causes":["motion"],)"
          R"("days":["friday","saturday"],"from":"22:00","until":"06:00","quiet_s":60,"least_peak":0.01}})",
          receiver));
  ASSERT_EQ(made.status, 201u) << made.body;
  EXPECT_EQ(made.json().at("from").as_string(), "22:00");
  const std::string place = "/rules/" + std::to_string(made.json().at("id").as_int64());
  Answer changed =
      ask("PATCH", place, R"({"cameras":null,"until":"24:00","snoozed_until":"2027-01-01T00:00:00Z"})");
  EXPECT_TRUE(changed.json().at("cameras").is_null());
  EXPECT_EQ(changed.json().at("until").as_string(), "24:00");
  EXPECT_EQ(changed.json().at("days").as_array().size(), 2u);
  EXPECT_TRUE(changed.json().at("snoozed_until").is_string());
  for (const char* body :
       {R"({"days":["someday"]})", R"({"from":"25:00"})", R"({"until":"6:00"})", R"({"causes":[]})",
        R"({"least_peak":2})", R"({"receivers":[999]})", R"({"receivers":["x"]})",
        R"({"cameras":["No Name"]})", R"({"quiet_s":-1})", R"({"nonsense":1})"}) {
    EXPECT_EQ(ask("PATCH", place, body).status, 422u) << body;
  }
  EXPECT_EQ(ask("DELETE", place).status, 204u);
  EXPECT_TRUE(ask("GET", "/rules").json().at("rules").as_array().empty());
}

TEST_F(NoticesApi, ATestNoticeThatCannotBeDeliveredWaitsAndSaysWhy) {
  const auto id = add_hook();
  const std::string place = "/receivers/" + std::to_string(id);
  EXPECT_EQ(ask("POST", place + "/test", "{}").status, 202u);
  ASSERT_TRUE(hall_.eventually(
      [&] { return ask("GET", "/receivers").json().at("receivers").at(0).at("failing_since").is_string(); }));
  const auto receiver = ask("GET", "/receivers").json().at("receivers").at(0).as_object();
  EXPECT_EQ(receiver.at("waiting").as_int64(), 1);
  EXPECT_NE(std::string(receiver.at("last_error").as_string()).find("127.0.0.1:1"), std::string::npos);
  const auto log = ask("GET", "/notices?state=waiting").json();
  ASSERT_EQ(log.at("notices").as_array().size(), 1u);
  EXPECT_EQ(log.at("notices").at(0).at("what").as_string(), "test");
  EXPECT_GE(log.at("notices").at(0).at("tries").as_int64(), 1);
  EXPECT_EQ(ask("GET", "/notices?state=lost").status, 422u);
  EXPECT_EQ(ask("GET", "/notices?limit=0").status, 422u);
}

TEST_F(NoticesApi, AWebhookThatIsTheStationItselfIsNotCalledAndSaysSo) {
  const Answer made =
      ask("POST", "/receivers",
          fmt::format(R"({{"name":"self","kind":"webhook","way":{{"address":"http://{}/api/v1/sign-in"}},)"
                      R"("secret":"a secret that is long"}})",
                      hall_.host()));
  ASSERT_EQ(made.status, 201u) << made.body;
  const std::string place = "/receivers/" + std::to_string(made.json().at("id").as_int64());
  EXPECT_EQ(ask("POST", place + "/test", "{}").status, 202u);
  json::object receiver;
  ASSERT_TRUE(hall_.eventually([&] {
    receiver = ask("GET", "/receivers").json().at("receivers").at(0).as_object();
    return receiver.at("last_error").is_string();
  }));
  EXPECT_NE(std::string(receiver.at("last_error").as_string()).find("it is the station itself"),
            std::string::npos)
      << receiver.at("last_error");
}

TEST_F(NoticesApi, SnoozeIsSetAndTakenBack) {
  EXPECT_TRUE(ask("GET", "/snooze").json().at("until").is_null());
  const std::string later = base::to_rfc3339(base::SystemClock().wall() + std::chrono::hours{2});
  EXPECT_EQ(ask("PUT", "/snooze", fmt::format(R"({{"until":"{}"}})", later)).status, 200u);
  EXPECT_TRUE(ask("GET", "/snooze").json().at("until").is_string());
  EXPECT_TRUE(ask("PUT", "/snooze", R"({"until":null})").json().at("until").is_null());
  EXPECT_EQ(ask("PUT", "/snooze", "{}").status, 422u);
  EXPECT_EQ(ask("PUT", "/snooze", R"({"until":"noon"})").status, 422u);
}

}  // namespace
}  // namespace rookery::test
