// Webhooks against a real HTTPS server, which reads the signature by itself, and servers that misbehave.
#include "tests/outside/notice_peers.h"

namespace rookery::notices::test {
namespace {

class WebhookTest : public testing::Test {
 protected:
  void SetUp() override {
    ROOKERY_NEEDS(std::filesystem::exists("/usr/bin/python3"),
                  "there is no /usr/bin/python3 (Debian package python3)");
    ROOKERY_NEEDS_PROGRAM("openssl", "openssl");
  }
  std::unique_ptr<Background> serve(int status, bool tls = true, int without_still = 0) {
    std::vector<std::string> words{
        "/usr/bin/python3", script("notice_https.py"), std::to_string(port_),
        without_still == 0 ? std::to_string(status) : fmt::format("{}:{}", status, without_still)};
    if (tls) words.insert(words.end(), {keys_.certificate(), keys_.key()});
    auto server = std::make_unique<Background>(words);
    EXPECT_EQ(server->read_line(), "ready") << server->err();
    return server;
  }
  Receiver receiver(bool tls = true) const {
    return {3, "hook", true,
            Webhook{fmt::format("{}://localhost:{}/notices?hall=1", tls ? "https" : "http", port_),
                    "a secret that is long", tls ? keys_.certificate() : std::string()}};
  }
  base::Result<std::string> send(const Receiver& to, const SenderOptions& options = patient()) {
    return make_webhook_sender(to, options, clock_)->send(begun(), never_.get_token());
  }
  const Keys keys_;
  const int port_ = free_port();
  const base::SystemClock clock_;
  std::stop_source never_;
};

TEST_F(WebhookTest, ANoticeArrivesWithASignatureThatTheOtherSideVerifies) {
  auto server = serve(204);
  EXPECT_EQ(send(receiver()).value(), "HTTP 204");
  const auto had = line_of(*server);
  EXPECT_TRUE(had.at("signed").as_bool());
  EXPECT_EQ(had.at("path").as_string(), "/notices?hall=1");
  const auto& body = had.at("body").as_object();
  EXPECT_EQ(body.at("what").as_string(), "begun");
  EXPECT_EQ(body.at("title").as_string(), "Hintertür – Hof");
  EXPECT_EQ(body.at("event").at("id").as_int64(), 42);
  EXPECT_EQ(body.at("still").as_string(), "/9ggbm90IHJlYWxseSBhIEpQRUcAAf/Z");
}

TEST_F(WebhookTest, AnotherSecretIsNoticedByTheOtherSide) {
  auto server = serve(204);
  Receiver other = receiver();
  set_secret(other, "another secret, also long");
  EXPECT_TRUE(send(other));
  EXPECT_FALSE(line_of(*server).at("signed").as_bool());
}

TEST_F(WebhookTest, ACertificateThatIsNotBelievedIsRefusedBeforeAnythingIsTold) {
  auto server = serve(204);
  Receiver without = receiver();
  std::get<Webhook>(without.way).ca_file.clear();
  const auto refused = send(without);
  ASSERT_FALSE(refused);
  EXPECT_NE(refused.error().remedy.find("certificate"), std::string::npos) << refused.error().text();
  std::get<Webhook>(without.way).ca_file = "/nowhere/at/all.pem";
  EXPECT_FALSE(send(without));
  EXPECT_TRUE(send(receiver()));  // the first that it hears of
  EXPECT_EQ(line_of(*server).at("path").as_string(), "/notices?hall=1");
}

TEST_F(WebhookTest, AServerThatIsDownAndComesBackGetsItThen) {
  EXPECT_EQ(send(receiver()).error().code, base::ErrorCode::unreachable);
  auto server = serve(200);
  EXPECT_EQ(send(receiver()).value(), "HTTP 200");
}

TEST_F(WebhookTest, AnAnswerThatSaysNoIsTold) {
  for (const int status : {401, 404, 500}) {
    auto server = serve(status);
    const auto refused = send(receiver());
    ASSERT_FALSE(refused);
    EXPECT_EQ(refused.error().detail, fmt::format("HTTP {}", status));
    server->end(SIGKILL);
  }
}

TEST_F(WebhookTest, WhatIsTooLargeGoesWithoutItsStill) {
  auto server = serve(413, true, 204);
  EXPECT_EQ(send(receiver()).value(), "HTTP 204, without the still, which was too large");
  EXPECT_FALSE(line_of(*server).at("body").at("still").is_null());
  const auto had = line_of(*server);
  EXPECT_TRUE(had.at("body").at("still").is_null());
  EXPECT_TRUE(had.at("signed").as_bool());
}

// RFC 9110, section 15.5; RFC 6585, section 4.
TEST_F(WebhookTest, WhatIsRefusedForGoodIsToldFromWhatMayPass) {
  using base::ErrorCode;
  for (const auto& [status, code] :
       {std::pair{400, ErrorCode::unsupported}, std::pair{413, ErrorCode::unsupported},
        std::pair{422, ErrorCode::unsupported}, std::pair{403, ErrorCode::refused},
        std::pair{404, ErrorCode::refused}, std::pair{429, ErrorCode::refused},
        std::pair{503, ErrorCode::refused}}) {
    auto server = serve(status);
    EXPECT_EQ(send(receiver()).error().code, code) << status;
    server->end(SIGKILL);
  }
}

TEST_F(WebhookTest, ItIsNotSentElsewhere) {
  auto server = serve(302);
  EXPECT_EQ(send(receiver()).error().detail, "HTTP 302");
  EXPECT_EQ(line_of(*server).at("path").as_string(), "/notices?hall=1");
}

TEST_F(WebhookTest, TheStationDoesNotCallItself) {
  auto server = serve(204, false);
  SenderOptions options = patient();
  for (const char* own : {"127.0.0.1", "0.0.0.0"}) {
    options.own = {{own, static_cast<std::uint16_t>(port_)}};
    const auto refused = send(receiver(false), options);
    ASSERT_FALSE(refused) << own;
    EXPECT_EQ(refused.error().code, base::ErrorCode::invalid_value);
    EXPECT_NE(refused.error().detail.find("itself"), std::string::npos);
  }
  Receiver mapped = receiver(false);
  std::get<Webhook>(mapped.way).address = fmt::format("http://[::ffff:127.0.0.1]:{}/", port_);
  EXPECT_EQ(send(mapped, options).error().code, base::ErrorCode::invalid_value);
  options.own = {{"127.0.0.1", static_cast<std::uint16_t>(port_ + 1)}};
  EXPECT_TRUE(send(receiver(false), options));
}

TEST_F(WebhookTest, AServerThatHangsIsGivenUpInTime) {
  const RudeServer silent(RudeServer::Manner::silent);
  Receiver to = receiver(false);
  std::get<Webhook>(to.way).address = fmt::format("http://127.0.0.1:{}/", silent.port());
  SenderOptions hasty = patient();
  hasty.answer_within = 200ms;
  EXPECT_EQ(send(to, hasty).error().code, base::ErrorCode::timed_out);
  never_.request_stop();
  EXPECT_EQ(send(to).error().code, base::ErrorCode::cancelled);
}

TEST_F(WebhookTest, AServerThatClosesAtOnceIsSaid) {
  const RudeServer closing(RudeServer::Manner::closing);
  Receiver to = receiver(false);
  std::get<Webhook>(to.way).address = fmt::format("http://127.0.0.1:{}/", closing.port());
  EXPECT_EQ(send(to).error().code, base::ErrorCode::closed);
}

}  // namespace
}  // namespace rookery::notices::test
