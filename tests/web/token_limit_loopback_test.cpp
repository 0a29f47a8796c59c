// Wrong access tokens: each address has so many tries, on every address that takes tokens; right ones are
// never held up by strangers.
#include <gtest/gtest.h>

#include "tests/support/hand_clock.h"
#include "tests/web/web_station.h"

namespace rookery::test {
namespace {

constexpr const char* kStranger = "203.0.113.9";
constexpr const char* kFriend = "192.0.2.17";
constexpr int kTries = 10;

class TokenLimit : public testing::Test {
 protected:
  TokenLimit()
      : hall([](web::ServerOptions& options) {
          options.trusted_proxies = {asio::ip::make_address("127.0.0.1")};
        }) {
    hall.add_camera("anvil");
    hall.push("anvil", make_picture(64, 48, 1));
    right = new_token(archive::TokenUse::watch);
  }
  std::string new_token(archive::TokenUse use) {
    return hall.station()
        .people()
        .new_token(WebStation::name("anvil"), "graph", use, hall.station().clock().wall())
        .value()
        .secret;
  }
  Answer ask(std::string_view method, std::string_view target, const std::string& token, const char* from) {
    return hall.ask(method, target, {}, {},
                    {{"Authorization", "Bearer " + token}, {"X-Forwarded-For", from}});
  }
  // Uses up what tries the stranger has.
  void exhaust(const char* from) {
    for (int i = 0; i < kTries; ++i)
      EXPECT_EQ(ask("GET", "/metrics", fmt::format("wrong-{}", i), from).status, 401U) << i;
  }

  WebStation hall;
  std::string right;
};

TEST_F(TokenLimit, WrongTokensHaveToWaitOnEveryAddressThatTakesThem) {
  exhaust(kStranger);
  const std::pair<const char*, const char*> addresses[] = {{"GET", "/metrics"},
                                                           {"GET", "/live/anvil.jpg"},
                                                           {"GET", "/live/anvil.mjpeg"},
                                                           {"POST", "/api/v1/cameras/anvil/stills"}};
  for (const auto& [method, target] : addresses) {
    const Answer answer = ask(method, target, "wrong", kStranger);
    EXPECT_EQ(answer.status, 429U) << target;
    EXPECT_FALSE(answer.field("Retry-After").empty()) << target;
    EXPECT_EQ(answer.code(), "busy") << target;
  }
  const Answer in_query =
      hall.ask("GET", "/live/anvil.jpg?token=wrong", {}, {}, {{"X-Forwarded-For", kStranger}});
  EXPECT_EQ(in_query.status, 429U);
}

TEST_F(TokenLimit, EveryAddressThatTakesTokensCosts) {
  for (int i = 0; i < 3; ++i) {
    const std::string wrong = fmt::format("wrong-{}", i);
    EXPECT_EQ(ask("GET", "/live/anvil.jpg", wrong, kStranger).status, 401U);
    EXPECT_EQ(ask("GET", "/live/anvil.mjpeg", wrong + "m", kStranger).status, 401U);
    EXPECT_EQ(ask("POST", "/api/v1/cameras/anvil/stills", wrong, kStranger).status, 401U);
  }
  EXPECT_EQ(ask("GET", "/metrics", "wrong", kStranger).status, 401U);
  EXPECT_EQ(ask("GET", "/metrics", "another", kStranger).status, 429U);
}

TEST_F(TokenLimit, ARightTokenAtAnotherAddressIsNotHurt) {
  exhaust(kStranger);
  for (int i = 0; i < 3 * kTries; ++i)
    ASSERT_EQ(ask("GET", "/live/anvil.jpg", right, kFriend).status, 200U) << i;
  EXPECT_EQ(ask("GET", "/metrics", right, kFriend).status, 200U);
}

TEST_F(TokenLimit, AProgramWithARevokedTokenDoesNotShutOutItsNeighbours) {
  EXPECT_EQ(ask("GET", "/live/anvil.jpg", right, kFriend).status, 200U);
  exhaust(kFriend);
  EXPECT_EQ(ask("GET", "/live/anvil.jpg", "wrong", kFriend).status, 429U);
  EXPECT_EQ(ask("GET", "/live/anvil.jpg", right, kFriend).status, 200U);
}

TEST_F(TokenLimit, ATokenThatWasRevokedIsWrongFromThenOn) {
  EXPECT_EQ(ask("GET", "/live/anvil.jpg", right, kFriend).status, 200U);
  const auto name = WebStation::name("anvil");
  const auto tokens = hall.station().people().list_tokens(name).value();
  ASSERT_EQ(tokens.size(), 1U);
  ASSERT_TRUE(hall.station().people().revoke_token(name, tokens[0].id).has_value());
  for (int i = 0; i < 3 * kTries; ++i)
    EXPECT_EQ(ask("GET", "/live/anvil.jpg", right, kFriend).status, 401U) << i;
}

// As after a restart of the station, when no token is known to be right yet.
TEST_F(TokenLimit, WhoRepeatsOneWrongTokenDoesNotShutOutANeighbourThatIsNew) {
  for (int i = 0; i < 3 * kTries; ++i)
    ASSERT_EQ(ask("GET", "/live/anvil.jpg", "stale", kFriend).status, 401U) << i;
  EXPECT_EQ(ask("GET", "/live/anvil.jpg", right, kFriend).status, 200U);
}

TEST_F(TokenLimit, ARightTokenThatThisRunHasNotMetIsLetInBesideWrongOnes) {
  exhaust(kFriend);
  EXPECT_EQ(ask("GET", "/live/anvil.jpg", "wrong", kFriend).status, 429U);
  EXPECT_EQ(ask("GET", "/live/anvil.jpg", right, kFriend).status, 200U);
  EXPECT_EQ(ask("GET", "/live/anvil.jpg", "another", kFriend).status, 429U) << "and wrong ones have to wait";
  for (int i = 0; i < 2; ++i)
    EXPECT_EQ(ask("GET", "/live/anvil.jpg", "another", kFriend).status, 429U) << "also when they come again";
}

// On a clock that stands still, so that no try comes back meanwhile.
TEST(TokenFlood, GuessesFromOneAddressAreBound) {
  HandClock clock;
  WebStation hall(
      [](web::ServerOptions& options) { options.trusted_proxies = {asio::ip::make_address("127.0.0.1")}; },
      &clock);
  hall.add_camera("anvil");
  const auto new_token = [&] {
    return hall.station()
        .people()
        .new_token(WebStation::name("anvil"), "graph", archive::TokenUse::watch, clock.wall())
        .value()
        .secret;
  };
  const auto ask = [&](const std::string& token, const char* from) {
    return hall.ask("GET", "/metrics", {}, {},
                    {{"Authorization", "Bearer " + token}, {"X-Forwarded-For", from}});
  };
  for (int i = 0; i < 100; ++i)
    ASSERT_EQ(ask(fmt::format("wrong-{}", i), kStranger).status, i < kTries ? 401U : 429U) << i;
  const std::string met = new_token();
  const std::string unmet = new_token();
  EXPECT_EQ(ask(met, kFriend).status, 200U) << "other addresses notice nothing";
  EXPECT_EQ(ask(met, kStranger).status, 200U) << "it was right before";
  const Answer guessed = ask(unmet, kStranger);
  EXPECT_EQ(guessed.status, 429U) << "not even a right guess is looked up";
  EXPECT_EQ(guessed.field("Retry-After"), "1");
  clock.pass(std::chrono::seconds{1});
  EXPECT_EQ(ask(unmet, kStranger).status, 200U);
  EXPECT_EQ(ask("wrong", kStranger).status, 429U);
  clock.pass(std::chrono::seconds{6});
  EXPECT_EQ(ask("wrong", kStranger).status, 401U) << "one try came back";
}

TEST_F(TokenLimit, ATokenThatIsWrongForOneUseIsRightForItsOwn) {
  for (int i = 0; i < 2; ++i) {
    EXPECT_EQ(ask("POST", "/api/v1/cameras/anvil/stills", right, kFriend).status, 401U);
    EXPECT_EQ(ask("GET", "/live/anvil.jpg", right, kFriend).status, 200U);
  }
}

TEST_F(TokenLimit, ATokenForPushingOpensNoCounters) {
  const std::string pushing = new_token(archive::TokenUse::push);
  EXPECT_EQ(ask("GET", "/metrics", pushing, kFriend).status, 401U);
  EXPECT_EQ(ask("GET", "/metrics", right, kFriend).status, 200U);
}

}  // namespace
}  // namespace rookery::test
