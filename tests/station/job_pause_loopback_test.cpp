// What a machine's software hears when the station wishes that it pauses, over HTTP, and what a person hears
// of it.
#include "tests/station/job_pause.h"

#include <sodium.h>

#include <boost/json/parse.hpp>

#include "tests/support/scripted_peer.h"

namespace rookery::station {
namespace {

constexpr std::string_view kSecret = "a secret that is long";

std::string base64_of(const unsigned char* bytes, std::size_t count) {
  std::string text(sodium_base64_ENCODED_LEN(count, sodium_base64_VARIANT_ORIGINAL), '\0');
  sodium_bin2base64(text.data(), text.size(), bytes, count, sodium_base64_VARIANT_ORIGINAL);
  text.resize(text.size() - 1);  // without its zero
  return text;
}
const unsigned char* bytes_of(std::string_view text) {
  return reinterpret_cast<const unsigned char*>(text.data());
}

// One request as it came over the wire.
struct Heard {
  std::string first_line;
  std::map<std::string, std::string> headers;
  std::string body;
};

class JobPauseHttp : public JobPause {
 protected:
  void adjust(StationOptions& options) override {
    JobPause::adjust(options);
    options.notices.sender.answer_within = patience_;
  }
  notices::Receiver software() const {
    return {0, "printer-1", true, notices::Webhook{peer_.address("/pause?unit=1"), std::string(kSecret), {}}};
  }
  static Heard read(const test::ScriptedConnection& line) {
    EXPECT_TRUE(line.wait_for("\r\n\r\n"));
    Heard heard;
    const std::string head = line.received().substr(0, line.received().find("\r\n\r\n") + 2);
    std::size_t at = head.find("\r\n");
    heard.first_line = head.substr(0, at);
    for (at += 2; at < head.size();) {
      const std::size_t end = head.find("\r\n", at);
      const std::size_t colon = head.find(": ", at);
      heard.headers[head.substr(at, colon - at)] = head.substr(colon + 2, end - colon - 2);
      at = end + 2;
    }
    const std::size_t size = std::stoul(heard.headers["Content-Length"]);
    EXPECT_TRUE(eventually([&] { return line.received().size() >= head.size() + 2 + size; }));
    heard.body = line.received().substr(head.size() + 2);
    return heard;
  }
  // As docs/notices.md has it, line by line; nothing here is the station's own.
  void expect_signed(Heard& heard) const {
    unsigned char digest[crypto_hash_sha256_BYTES];
    crypto_hash_sha256(digest, bytes_of(heard.body), heard.body.size());
    EXPECT_EQ(heard.headers["Content-Digest"], "sha-256=:" + base64_of(digest, sizeof digest) + ":");
    const std::string input = heard.headers["Signature-Input"];
    ASSERT_TRUE(input.starts_with("rookery=(")) << input;
    const std::string params = input.substr(8);
    const auto seconds = std::chrono::floor<std::chrono::seconds>(clock_.wall()).time_since_epoch();
    EXPECT_EQ(params,
              fmt::format("(\"@method\" \"@target-uri\" \"content-type\" \"content-digest\");created={};"
                          "keyid=\"receiver-{}\";alg=\"hmac-sha256\"",
                          seconds.count(), receiver_));
    const std::string base = fmt::format(
        "\"@method\": POST\n\"@target-uri\": {}\n\"content-type\": application/json\n\"content-digest\": {}\n"
        "\"@signature-params\": {}",
        peer_.address("/pause?unit=1"), heard.headers["Content-Digest"], params);
    unsigned char code[crypto_auth_hmacsha256_BYTES];
    crypto_auth_hmacsha256_state state;
    crypto_auth_hmacsha256_init(&state, bytes_of(kSecret), kSecret.size());
    crypto_auth_hmacsha256_update(&state, bytes_of(base), base.size());
    crypto_auth_hmacsha256_final(&state, code);
    EXPECT_EQ(heard.headers["Signature"], "rookery=:" + base64_of(code, sizeof code) + ":");
  }
  static void answer(test::ScriptedConnection& line, std::string_view status) {
    line.send(fmt::format("HTTP/1.1 {}\r\nContent-Length: 0\r\nConnection: close\r\n\r\n", status));
    line.close();
  }
  bool tried(unsigned times) {
    return eventually([&] { return log().front().tries == times; });
  }

  std::chrono::milliseconds patience_ = 30s;
  test::ScriptedPeer peer_;
};

TEST_F(JobPauseHttp, TheSoftwareHearsWhatIsDocumentedSignedAndThePersonThatItDid) {
  begin_with(software());
  cover();
  const auto line = peer_.accept();
  ASSERT_TRUE(line);
  Heard heard = read(*line);
  EXPECT_EQ(heard.first_line, "POST /pause?unit=1 HTTP/1.1");
  EXPECT_EQ(heard.headers["Content-Type"], "application/json");
  EXPECT_EQ(heard.headers["Host"], fmt::format("127.0.0.1:{}", peer_.port()));
  expect_signed(heard);
  const auto body = boost::json::parse(heard.body).as_object();
  EXPECT_EQ(body.at("notice").as_int64(), log().front().notice.id);
  EXPECT_EQ(body.at("what").as_string(), "pause");
  EXPECT_EQ(body.at("camera").as_string(), "anvil");
  EXPECT_TRUE(body.at("still").is_string());
  const auto& event = body.at("event").as_object();
  EXPECT_EQ(event.at("cause").as_string(), "job");
  EXPECT_EQ(event.at("detail").as_string(), "covered");
  EXPECT_EQ(event.at("job").as_int64(), job_);
  EXPECT_TRUE(event.at("end").is_null());
  // Not before it had stood for 45 s until it was told, then for the hold.
  const auto made = base::parse_rfc3339(body.at("made_at").as_string()).value();
  const auto began = base::parse_rfc3339(event.at("best_at").as_string()).value();
  EXPECT_GE(made - began, 10s);
  answer(*line, "204 No Content");
  ASSERT_TRUE(eventually([&] { return has_step("pause-sent"); }));
  EXPECT_EQ(steps().back().note, "HTTP 204");
  EXPECT_EQ(log().front().state, notices::State::delivered);
  EXPECT_EQ(peer_.connections(), 1);
}

TEST_F(JobPauseHttp, WhoRefusesIsAskedAgainWithTheSameNumber) {
  begin_with(software());
  cover();
  auto line = peer_.accept();
  ASSERT_TRUE(line);
  const std::string first = read(*line).body;
  answer(*line, "500 Internal Server Error");
  ASSERT_TRUE(tried(1));
  EXPECT_FALSE(has_step("pause-sent"));
  clock_.pass(7s);
  line = peer_.accept();
  ASSERT_TRUE(line);
  Heard again = read(*line);
  EXPECT_EQ(again.body, first);
  expect_signed(again);
  answer(*line, "200 OK");
  ASSERT_TRUE(eventually([&] { return has_step("pause-sent"); }));
  EXPECT_FALSE(has_step("pause-lost"));
  EXPECT_EQ(peer_.connections(), 2);
}

TEST_F(JobPauseHttp, WhoAnswersSlowlyIsAskedOnce) {
  begin_with(software());
  cover();
  const auto line = peer_.accept();
  ASSERT_TRUE(line);
  read(*line);
  clock_.pass(90s);
  line->send("HTTP/1.1 ");
  clock_.pass(90s);  // it was there in time, whenever it answers
  line->send("200 OK\r\nContent-Length: 0\r\nConnection: close\r\n\r\n");
  line->close();
  ASSERT_TRUE(eventually([&] { return has_step("pause-sent") || has_step("pause-lost"); }));
  EXPECT_TRUE(has_step("pause-sent"));
  EXPECT_EQ(peer_.connections(), 1);
}

TEST_F(JobPauseHttp, WhoDoesNotAnswerIsAskedAgain) {
  patience_ = 200ms;
  begin_with(software());
  cover();
  const auto silent = peer_.accept();
  ASSERT_TRUE(silent);
  const std::string first = read(*silent).body;
  ASSERT_TRUE(tried(1));
  clock_.pass(7s);
  const auto line = peer_.accept();
  ASSERT_TRUE(line);
  EXPECT_EQ(read(*line).body, first);
  answer(*line, "200 OK");
  EXPECT_TRUE(eventually([&] { return has_step("pause-sent"); }));
}

TEST_F(JobPauseHttp, AfterTwoMinutesItIsGivenUpAndThePersonIsTold) {
  begin_with(software());
  cover();
  // 0, 5, 15, 35 and 75 s after it was asked for, each wait up to a fifth longer.
  for (unsigned tries = 1; tries <= 4; ++tries) {
    const auto line = peer_.accept();
    ASSERT_TRUE(line) << tries;
    read(*line);
    answer(*line, "503 Service Unavailable");
    ASSERT_TRUE(tried(tries));
    clock_.pass(tries < 4 ? std::chrono::seconds(6 << (tries - 1)) : 90s);
  }
  ASSERT_TRUE(eventually([&] { return has_step("pause-lost"); }));
  EXPECT_FALSE(has_step("pause-sent"));
  const std::string note = steps().back().note;
  EXPECT_TRUE(note.starts_with("too late")) << note;
  EXPECT_NE(note.find("tried 4 times"), std::string::npos) << note;
  EXPECT_NE(note.find("HTTP 503"), std::string::npos) << note;
  EXPECT_EQ(log().front().state, notices::State::given_up);
  EXPECT_TRUE(log().front().answer.starts_with("too late")) << log().front().answer;
  EXPECT_EQ(peer_.connections(), 4);
}

TEST_F(JobPauseHttp, ARestartWithinTheTwoMinutesGoesOnAndALaterOneDoesNot) {
  begin_with(software());
  cover();
  auto line = peer_.accept();
  ASSERT_TRUE(line);
  read(*line);
  answer(*line, "500 Internal Server Error");
  ASSERT_TRUE(tried(1));
  station_.reset();
  start();
  line = peer_.accept();  // at once
  ASSERT_TRUE(line);
  read(*line);
  answer(*line, "500 Internal Server Error");
  ASSERT_TRUE(tried(2));
  station_.reset();
  clock_.pass(121s);
  start();
  EXPECT_TRUE(eventually([&] { return has_step("pause-lost"); }));
  EXPECT_EQ(peer_.connections(), 2);
}

TEST_F(JobPauseHttp, AReceiverThatIsGoneOrSwitchedOffIsSaidAtOnce) {
  begin_with(software());
  notices::NoticeStore store(station_->catalog());
  auto receiver = store.receiver(receiver_).value();
  receiver.enabled = false;
  ASSERT_TRUE(store.set(receiver, true));
  cover();
  ASSERT_TRUE(eventually([&] { return has_step("pause-lost"); }));
  EXPECT_NE(steps().back().note.find("\"printer-1\" is switched off"), std::string::npos)
      << steps().back().note;
  ASSERT_TRUE(store.remove_receiver(receiver_));
  work(60);  // it is over, and comes again
  const auto grey = test::make_flat_picture(320, 240, 60);
  const auto lost = [&] {
    return std::ranges::count_if(steps(), [](const archive::JobStep& s) { return s.what == "pause-lost"; });
  };
  for (int i = 0; i < 30 && lost() < 2; ++i) job_still(grey);
  ASSERT_TRUE(eventually([&] { return lost() == 2; }));
  EXPECT_NE(steps().back().note.find("there is no receiver"), std::string::npos) << steps().back().note;
  EXPECT_EQ(peer_.connections(), 0);
}

}  // namespace
}  // namespace rookery::station
