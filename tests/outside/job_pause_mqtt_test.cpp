// A job's wish to pause, from the covered camera to whoever listens at a real broker.
#include <algorithm>

#include "tests/outside/broker.h"
#include "tests/station/job_pause.h"

namespace rookery::station {
namespace {

namespace peers = notices::test;

class JobPauseMqtt : public JobPause {
 protected:
  void SetUp() override {
    ROOKERY_NEEDS_PROGRAM("mosquitto", "mosquitto");
    ROOKERY_NEEDS_PROGRAM("mosquitto_sub", "mosquitto-clients");
  }
  notices::Receiver software() const {
    notices::Mqtt mqtt;
    mqtt.host = "127.0.0.1";
    mqtt.port = broker_.port();
    mqtt.prefix = "hall";
    return {0, "broker", true, mqtt};
  }
  // The payload of the line that the client prints next.
  static std::string payload_of(std::string_view line) {
    std::string text;
    for (std::size_t at = line.rfind(' ') + 1; at + 1 < line.size(); at += 2)
      text += static_cast<char>(std::stoi(std::string(line.substr(at, 2)), nullptr, 16));
    return text;
  }
  // What was heard until the station's last word that followed the wish. The broker may say of the sender
  // before that it is offline as well, when it was cut off: that one is not waited for.
  static std::vector<std::string> heard_with_pause(rookery::test::Background& client) {
    std::vector<std::string> lines;
    const auto is_wish = [](const std::string& line) { return line.starts_with("0 hall/anvil/pause "); };
    while (!HasFailure() && std::ranges::none_of(lines, is_wish)) {
      for (std::string& line : peers::lines_until(client, "0 hall/station " + peers::hex("offline")))
        lines.push_back(std::move(line));
    }
    return lines;
  }
  peers::Broker broker_;
};

TEST_F(JobPauseMqtt, ItIsHeardOnceUnderItsOwnTopicAndNoOther) {
  const auto running = broker_.start();
  const auto client = broker_.listen("hall/#");
  // The client has to be there before the wish, which no broker keeps: something is said until it hears it.
  std::jthread saying([&](const std::stop_token& stop) {
    notices::Receiver said = software();
    said.id = 99;
    const auto sender = notices::make_mqtt_sender(said, peers::patient());
    notices::Notice test;
    test.event = "null";
    while (!stop.stop_requested()) (void)sender->send(test, stop);
  });
  bool heard = false;
  while (!heard) {
    const auto line = client->read_line();
    ASSERT_TRUE(line.has_value()) << client->err();
    heard = line->starts_with("0 hall/test ");
  }
  saying.request_stop();
  saying.join();
  peers::lines_until(*client, "0 hall/station " + peers::hex("offline"));

  begin_with(software());
  cover();
  ASSERT_TRUE(eventually([&] { return has_step("pause-sent"); }));
  station_.reset();  // its last word ends what there is to read
  std::vector<std::string> lines = heard_with_pause(*client);
  std::erase_if(lines, [](const std::string& line) { return line.starts_with("0 hall/station "); });
  ASSERT_EQ(lines.size(), 1u) << (lines.empty() ? "none" : lines.back());
  ASSERT_TRUE(lines[0].starts_with("0 hall/anvil/pause ")) << lines[0];
  const auto body = boost::json::parse(payload_of(lines[0])).as_object();
  EXPECT_EQ(body.at("what").as_string(), "pause");
  EXPECT_EQ(body.at("camera").as_string(), "anvil");
  EXPECT_EQ(body.at("event").at("cause").as_string(), "job");
  EXPECT_EQ(body.at("event").at("detail").as_string(), "covered");
  EXPECT_EQ(body.at("event").at("job").as_int64(), job_);
  EXPECT_TRUE(body.at("still").is_null());
}

TEST_F(JobPauseMqtt, ABrokerThatIsNotThereIsSaidAfterTwoMinutes) {
  begin_with(software());
  cover();
  ASSERT_TRUE(eventually([&] { return log().front().tries >= 1; }));
  clock_.pass(121s);
  ASSERT_TRUE(eventually([&] { return has_step("pause-lost"); }));
  EXPECT_NE(steps().back().note.find("too late"), std::string::npos) << steps().back().note;
}

}  // namespace
}  // namespace rookery::station
