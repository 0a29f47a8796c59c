// Mail through a real SMTP server, read by Python's own mail reader.
#include "tests/outside/notice_peers.h"

namespace rookery::notices::test {
namespace {

class MailTest : public testing::Test {
 protected:
  void SetUp() override {
    ROOKERY_NEEDS_PROGRAM("openssl", "openssl");
    ROOKERY_NEEDS(run_program({"/usr/bin/python3", "-c", "import aiosmtpd"}).exit_code == 0,
                  "aiosmtpd is not installed (Debian package python3-aiosmtpd)");
  }
  std::unique_ptr<Background> serve(bool tls = true, int most_bytes = 100'000) {
    std::vector<std::string> words{"/usr/bin/python3", script("notice_smtp.py"), std::to_string(port_),
                                   std::to_string(most_bytes)};
    if (tls) words.insert(words.end(), {keys_.certificate(), keys_.key()});
    auto server = std::make_unique<Background>(words);
    EXPECT_EQ(server->read_line(), "ready") << server->err();
    return server;
  }
  Receiver receiver() const {
    Mail mail;
    mail.host = "localhost";
    mail.port = static_cast<std::uint16_t>(port_);
    mail.ca_file = keys_.certificate();
    mail.user = "hall";
    mail.password = "tide-table";
    mail.from = "hall@example.org";
    mail.to = {"marta@example.org", "ines@example.org"};
    return {4, "mail", true, mail};
  }
  static base::Result<std::string> send(const Receiver& to, const SenderOptions& options = patient(),
                                        const Notice& notice = begun()) {
    return make_mail_sender(to, options)->send(notice, {});
  }
  const Keys keys_;
  const int port_ = free_port();
};

TEST_F(MailTest, ANoticeArrivesOverTlsWithItsStill) {
  auto server = serve();
  const auto sent = send(receiver());
  ASSERT_TRUE(sent) << sent.error().text();
  const auto had = line_of(*server);
  EXPECT_TRUE(had.at("tls").as_bool());
  EXPECT_EQ(had.at("from").as_string(), "hall@example.org");
  EXPECT_EQ(had.at("to").as_array().size(), 2u);
  EXPECT_EQ(std::string(had.at("subject").as_string()).find("Hintertür – Hof: motion at "), 0u)
      << had.at("subject");
  EXPECT_EQ(had.at("date").as_string(), "2026-03-01 12:00:01+00:00");
  EXPECT_NE(std::string(had.at("text").as_string()).find("Where: lower left"), std::string::npos);
  EXPECT_EQ(had.at("type").as_string(), "image/jpeg");
  EXPECT_EQ(had.at("still").as_string(), "/9ggbm90IHJlYWxseSBhIEpQRUcAAf/Z");
  EXPECT_TRUE(had.at("defects").as_array().empty());
  EXPECT_LE(had.at("longest").as_int64(), 998);  // RFC 5322, section 2.1.1
}

TEST_F(MailTest, TheSameNoticeHasTheSameIdWheneverItIsTried) {
  auto server = serve();
  ASSERT_TRUE(send(receiver()));
  ASSERT_TRUE(send(receiver()));
  const auto first = line_of(*server);
  EXPECT_EQ(first.at("id"), line_of(*server).at("id"));
}

TEST_F(MailTest, WithoutAStillItIsTextAlone) {
  auto server = serve();
  Notice ended = begun();
  ended.what = What::ended;
  ended.still.clear();
  ASSERT_TRUE(send(receiver(), patient(), ended));
  EXPECT_TRUE(line_of(*server).at("still").is_null());
}

TEST_F(MailTest, AWrongPasswordIsSaidAndNotShown) {
  auto server = serve();
  Receiver wrong = receiver();
  set_secret(wrong, "ebb-table");
  const auto refused = send(wrong);
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().code, base::ErrorCode::no_permission) << refused.error().text();
  EXPECT_EQ(refused.error().text().find("ebb-table"), std::string::npos);
}

TEST_F(MailTest, NothingGoesWithoutTlsWhereTlsIsWanted) {
  auto server = serve(false);
  const auto refused = send(receiver());
  ASSERT_FALSE(refused);
  EXPECT_NE(refused.error().remedy.find("TLS"), std::string::npos) << refused.error().text();
  Receiver plain = receiver();
  auto& mail = std::get<Mail>(plain.way);
  mail.security = Mail::Security::none;
  mail.user = mail.password = "";
  EXPECT_TRUE(send(plain));
  EXPECT_FALSE(line_of(*server).at("tls").as_bool());
}

TEST_F(MailTest, WhatIsTooLargeGoesWithoutItsStill) {
  auto server = serve(true, 4'000);
  Notice large = begun();
  large.still.assign(5'000, 'x');
  const auto sent = send(receiver(), patient(), large);
  ASSERT_TRUE(sent) << sent.error().text();
  EXPECT_NE(sent->find("without the still"), std::string::npos);
  EXPECT_TRUE(line_of(*server).at("still").is_null());
}

TEST_F(MailTest, AReceiverThatIsNotThereIsRefusedForGoodAPasswordIsNot) {
  auto server = serve();
  Receiver nobody = receiver();
  std::get<Mail>(nobody.way).to = {"nobody@example.org"};
  const auto refused = send(nobody);
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().code, base::ErrorCode::unsupported) << refused.error().text();
}

TEST_F(MailTest, ACertificateThatIsNotBelievedIsRefused) {
  auto server = serve();
  Receiver without = receiver();
  std::get<Mail>(without.way).ca_file.clear();
  EXPECT_NE(send(without).error().remedy.find("certificate"), std::string::npos);
}

TEST_F(MailTest, AServerThatIsDownAndComesBackGetsItThen) {
  EXPECT_EQ(send(receiver()).error().code, base::ErrorCode::unreachable);
  auto server = serve();
  EXPECT_TRUE(send(receiver()));
}

TEST_F(MailTest, AServerThatHangsIsGivenUpInTime) {
  const RudeServer silent(RudeServer::Manner::silent);
  Receiver to = receiver();
  std::get<Mail>(to.way).port = silent.port();
  SenderOptions hasty = patient();
  hasty.answer_within = 200ms;
  EXPECT_EQ(send(to, hasty).error().code, base::ErrorCode::timed_out);
}

}  // namespace
}  // namespace rookery::notices::test
