// MQTT at a real broker (mosquitto), heard by its own client.
#include "tests/outside/broker.h"

namespace rookery::notices::test {
namespace {

class MqttTest : public testing::Test {
 protected:
  void SetUp() override {
    ROOKERY_NEEDS_PROGRAM("mosquitto", "mosquitto");
    ROOKERY_NEEDS_PROGRAM("mosquitto_sub", "mosquitto-clients");
    ROOKERY_NEEDS_PROGRAM("openssl", "openssl");
  }
  Receiver receiver() const {
    Mqtt mqtt;
    mqtt.host = "127.0.0.1";
    mqtt.port = broker_.port();
    mqtt.prefix = "hall";
    return {5, "broker", true, mqtt};
  }
  static Notice ended() {
    Notice notice = begun();
    notice.what = What::ended;
    notice.still.clear();
    return notice;
  }
  std::unique_ptr<Background> broker(const std::string& more = "allow_anonymous true\n") {
    return broker_.start(more);
  }
  std::unique_ptr<Background> listen() const { return broker_.listen("hall/#"); }
  rookery::test::TempFolder folder_;
  Broker broker_;
};

TEST_F(MqttTest, StateEventAndStillAreHeardAndTheStateIsRetained) {
  auto running = broker();
  auto sender = make_mqtt_sender(receiver(), patient());
  ASSERT_TRUE(sender->send(begun(), {}));
  // Whoever comes later hears what is the case.
  auto client = listen();
  auto lines = lines_until(*client, "1 hall/back-door/motion " + hex("on"));
  ASSERT_TRUE(sender->send(ended(), {}));
  lines = lines_until(*client, "0 hall/back-door/motion " + hex("off"));
  ASSERT_TRUE(sender->send(begun(), {}));
  lines = lines_until(*client, "0 hall/back-door/still " + hex(begun().still));
  const auto event = std::ranges::find_if(
      lines, [](const std::string& line) { return line.starts_with("0 hall/back-door/event "); });
  ASSERT_NE(event, lines.end());
  sender.reset();
  lines_until(*client, "0 hall/station " + hex("offline"));
}

TEST_F(MqttTest, WhatDoesNotMoveDoesNotSwitchTheState) {
  auto running = broker();
  auto sender = make_mqtt_sender(receiver(), patient());
  ASSERT_TRUE(sender->send(begun(), {}));
  auto client = listen();
  lines_until(*client, "1 hall/back-door/motion " + hex("on"));
  Notice lamp = ended();
  lamp.motion = false;
  ASSERT_TRUE(sender->send(lamp, {}));
  sender.reset();
  for (const std::string& line : lines_until(*client, "0 hall/station " + hex("offline")))
    EXPECT_FALSE(line.starts_with("0 hall/back-door/motion ")) << line;
}

TEST_F(MqttTest, TheStationIsOnlineWhileItIsThere) {
  auto running = broker();
  auto sender = make_mqtt_sender(receiver(), patient());
  ASSERT_TRUE(sender->send(ended(), {}));
  auto client = listen();
  lines_until(*client, "1 hall/station " + hex("online"));
}

TEST_F(MqttTest, ABrokerThatComesLaterOrAgainGetsItThen) {
  SenderOptions options = patient();
  options.connect_within = 300ms;
  auto sender = make_mqtt_sender(receiver(), options);
  ASSERT_TRUE(rookery::test::eventually([&] {
    const auto sent = sender->send(begun(), {});
    return !sent && sent.error().code == base::ErrorCode::unreachable;
  }));
  auto running = broker();
  ASSERT_TRUE(rookery::test::eventually([&] { return sender->send(begun(), {}).has_value(); }));
  running->end(SIGKILL);
  ASSERT_TRUE(rookery::test::eventually([&] { return !sender->send(begun(), {}).has_value(); }));
  running = broker();
  EXPECT_TRUE(rookery::test::eventually([&] { return sender->send(begun(), {}).has_value(); }));
}

TEST_F(MqttTest, AWrongPasswordIsSaidAndNotShown) {
  const auto people = folder_.path() / "people";
  ASSERT_EQ(run_program({"mosquitto_passwd", "-b", "-c", people.string(), "hall", "tide-table"}).exit_code,
            0);
  // It may give up root and must still read it.
  std::filesystem::permissions(folder_.path(), std::filesystem::perms(0755));
  std::filesystem::permissions(people, std::filesystem::perms(0644));
  auto running = broker(fmt::format("allow_anonymous false\npassword_file {}\n", people.string()));
  Receiver wrong = receiver();
  std::get<Mqtt>(wrong.way).user = "hall";
  set_secret(wrong, "ebb-table");
  SenderOptions options = patient();
  options.connect_within = 2s;
  const auto sender = make_mqtt_sender(wrong, options);
  const auto refused = sender->send(begun(), {});
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().code, base::ErrorCode::no_permission) << refused.error().text();
  EXPECT_EQ(refused.error().text().find("ebb-table"), std::string::npos);
  // What was wrong once is not said of another fault.
  running->end(SIGKILL);
  ASSERT_TRUE(rookery::test::eventually([&] {
    const auto sent = sender->send(begun(), {});
    return !sent && sent.error().code == base::ErrorCode::unreachable;
  }));
  running = broker(fmt::format("allow_anonymous false\npassword_file {}\n", people.string()));
  Receiver right = wrong;
  set_secret(right, "tide-table");
  EXPECT_TRUE(make_mqtt_sender(right, patient())->send(begun(), {}));
}

TEST_F(MqttTest, OverTlsWithItsOwnCertificate) {
  const Keys keys;
  std::filesystem::permissions(std::filesystem::path(keys.key()).parent_path(), std::filesystem::perms(0755));
  std::filesystem::permissions(keys.key(), std::filesystem::perms(0644));
  auto running =
      broker(fmt::format("allow_anonymous true\ncertfile {}\nkeyfile {}\n", keys.certificate(), keys.key()));
  Receiver secure = receiver();
  auto& mqtt = std::get<Mqtt>(secure.way);
  mqtt.host = "localhost";
  mqtt.tls = true;
  mqtt.ca_file = keys.certificate();
  const auto sent = make_mqtt_sender(secure, patient())->send(begun(), {});
  EXPECT_TRUE(sent) << sent.error().text();
  SenderOptions hasty = patient();
  hasty.connect_within = 500ms;
  mqtt.ca_file.clear();
  const auto unbelieved = make_mqtt_sender(secure, patient())->send(begun(), {});
  ASSERT_FALSE(unbelieved);
  EXPECT_NE(unbelieved.error().remedy.find("certificate"), std::string::npos) << unbelieved.error().text();
  mqtt.ca_file = "/nowhere/at/all.pem";
  EXPECT_EQ(make_mqtt_sender(secure, hasty)->send(begun(), {}).error().code, base::ErrorCode::invalid_value);
}

TEST_F(MqttTest, ABrokerThatClosesAtOnceOrHangsIsSaidInTime) {
  SenderOptions hasty = patient();
  hasty.connect_within = 500ms;
  hasty.answer_within = 500ms;
  Receiver to = receiver();
  const RudeServer closing(RudeServer::Manner::closing);
  std::get<Mqtt>(to.way).port = closing.port();
  EXPECT_EQ(make_mqtt_sender(to, patient())->send(begun(), {}).error().code, base::ErrorCode::closed);
  const RudeServer silent(RudeServer::Manner::silent);
  std::get<Mqtt>(to.way).port = silent.port();
  EXPECT_EQ(make_mqtt_sender(to, hasty)->send(begun(), {}).error().code, base::ErrorCode::timed_out);
}

}  // namespace
}  // namespace rookery::notices::test
