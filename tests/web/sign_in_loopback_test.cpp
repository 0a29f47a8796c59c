// Who comes in, how often they may try, and what another site's page may not do in their name.
#include "tests/support/hand_clock.h"
#include "tests/web/web_station.h"

namespace rookery::test {
namespace {

namespace json = boost::json;

TEST(SignIn, GivesACookieThatOpensAndSigningOutEndsIt) {
  WebStation hall;
  const Answer in =
      hall.ask("POST", "/api/v1/sign-in", {}, R"({"name":"Marta","password":"a long password"})");
  ASSERT_EQ(in.status, 204U) << in.body;
  const std::string cookie = in.field("Set-Cookie");
  EXPECT_NE(cookie.find("HttpOnly; SameSite=Strict"), std::string::npos);
  const std::string session = cookie.substr(16, cookie.find(';') - 16);
  EXPECT_EQ(hall.ask("GET", "/api/v1/me", session).json().at("role"), "owner");
  EXPECT_EQ(hall.ask("POST", "/api/v1/sign-out", session).status, 204U);
  EXPECT_EQ(hall.ask("GET", "/api/v1/me", session).status, 401U);
}

TEST(SignIn, WrongNameAndWrongPasswordAreToldAlike) {
  WebStation hall;
  const Answer name =
      hall.ask("POST", "/api/v1/sign-in", {}, R"({"name":"Nobody","password":"a long password"})");
  const Answer password =
      hall.ask("POST", "/api/v1/sign-in", {}, R"({"name":"Marta","password":"geheim geheim"})");
  EXPECT_EQ(name.status, 401U);
  EXPECT_EQ(name.body, password.body);
  EXPECT_EQ(password.body.find("geheim"), std::string::npos);
}

TEST(SignIn, ManyWrongTriesAreToldWhenToComeBack) {
  HandClock clock;  // it stands still: on a slow computer tries come back while the test makes others
  WebStation hall(nullptr, &clock);
  Answer answer;
  for (int tries = 0; tries < 11; ++tries) {
    answer = hall.ask("POST", "/api/v1/sign-in/once", {}, R"({"code":"wrong"})");
    if (tries < 10) {
      EXPECT_EQ(answer.status, 401U) << tries;
    }
  }
  ASSERT_EQ(answer.status, 429U);
  EXPECT_EQ(answer.field("Retry-After"), "6");
  clock.pass(std::chrono::seconds{6});
  EXPECT_EQ(hall.ask("POST", "/api/v1/sign-in/once", {}, R"({"code":"wrong"})").status, 401U);
}

void trust_this_computer(web::ServerOptions& options) {
  options.trusted_proxies = {asio::ip::address_v4::loopback()};
}

TEST(SignIn, TriesAreCountedByName) {
  HandClock clock;
  WebStation hall(trust_this_computer, &clock);
  const auto sign_in = [&](std::string_view name, std::string_view password, int from) {
    const std::string body = json::serialize(json::object{{"name", name}, {"password", password}});
    return hall.ask("POST", "/api/v1/sign-in", {}, body,
                    {{"X-Forwarded-For", fmt::format("192.0.2.{}", from)}});
  };
  const char* spellings[] = {"Marta", "marta", "MARTA"};
  for (int tries = 0; tries < 10; ++tries) {
    ASSERT_EQ(sign_in(spellings[tries % 3], "wrong wrong", tries).status, 401U) << tries;
  }
  const Answer late = sign_in("mARTA", "a long password", 50);
  EXPECT_EQ(late.status, 429U);
  EXPECT_EQ(late.field("Retry-After"), "12");
  EXPECT_EQ(sign_in("Nobody", "wrong wrong", 50).status, 401U);
  clock.pass(std::chrono::seconds{12});
  EXPECT_EQ(sign_in("mARTA", "a long password", 50).status, 204U);
}

TEST(SignIn, GoodTriesCostNothing) {
  WebStation hall;
  for (int tries = 0; tries < 12; ++tries) {
    ASSERT_EQ(
        hall.ask("POST", "/api/v1/sign-in", {}, R"({"name":"Marta","password":"a long password"})").status,
        204U)
        << tries;
  }
}

TEST(SignIn, TriesAreCountedByTheAddressThatATrustedProxyTells) {
  HandClock clock;
  WebStation hall(trust_this_computer, &clock);
  const auto attempt = [&](std::string_view from) {
    return hall
        .ask("POST", "/api/v1/sign-in/once", {}, R"({"code":"wrong"})",
             {{"X-Forwarded-For", std::string(from)}})
        .status;
  };
  // Whatever the viewer itself wrote stands before what the proxy added.
  for (int tries = 0; tries < 10; ++tries)
    ASSERT_EQ(attempt(fmt::format("10.0.0.{}, 192.0.2.7", tries)), 401U);
  EXPECT_EQ(attempt("10.9.9.9, 192.0.2.7"), 429U);
  EXPECT_EQ(attempt("192.0.2.8"), 401U);
}

TEST(SignIn, WhatAStrangerSaysAboutItsAddressIsNotBelieved) {
  WebStation hall;
  unsigned status = 0;
  for (int tries = 0; tries < 11; ++tries) {
    status = hall.ask("POST", "/api/v1/sign-in/once", {}, R"({"code":"wrong"})",
                      {{"X-Forwarded-For", fmt::format("192.0.2.{}", tries)}})
                 .status;
  }
  EXPECT_EQ(status, 429U);
}

TEST(SignIn, TheCookieIsForTlsOnlyWhereATrustedProxySaysThatItIsUsed) {
  const auto cookie = [](WebStation& hall) {
    return hall
        .ask("POST", "/api/v1/sign-in", {}, R"({"name":"Marta","password":"a long password"})",
             {{"X-Forwarded-Proto", "https"}, {"Origin", "https://" + hall.host()}})
        .field("Set-Cookie");
  };
  WebStation behind_proxy(trust_this_computer);
  EXPECT_NE(cookie(behind_proxy).find("; Secure"), std::string::npos) << cookie(behind_proxy);
  WebStation alone;
  const std::string plain = cookie(alone);
  EXPECT_NE(plain.find("HttpOnly"), std::string::npos) << plain;
  EXPECT_EQ(plain.find("Secure"), std::string::npos) << plain;
}

TEST(SignIn, AOneTimeCodeWorksOnce) {
  WebStation hall;
  const auto people = hall.station().people().list().value();
  const std::string code =
      hall.station()
          .people()
          .new_one_time_code(people.front().id, hall.station().clock().wall() + std::chrono::minutes{5})
          .value();
  const std::string body = json::serialize(json::object{{"code", code}});
  EXPECT_EQ(hall.ask("POST", "/api/v1/sign-in/once", {}, body).status, 204U);
  EXPECT_EQ(hall.ask("POST", "/api/v1/sign-in/once", {}, body).status, 401U);
}

TEST(Csrf, WhatAnotherSiteSendsIsRefused) {
  WebStation hall;
  hall.add_camera("anvil");
  const auto remove = [&](const Fields& fields) {
    return hall.ask("DELETE", "/api/v1/cameras/anvil", hall.owner(), {}, fields).status;
  };
  EXPECT_EQ(remove({{"Origin", "http://elsewhere.example"}}), 403U);
  EXPECT_EQ(remove({{"Sec-Fetch-Site", "cross-site"}}), 403U);
  EXPECT_EQ(remove({{"Origin", ""}}), 403U);  // neither field
  EXPECT_EQ(hall.ask("POST", "/api/v1/sign-in", {}, R"({"name":"Marta","password":"a long password"})",
                     {{"Origin", "http://elsewhere.example"}})
                .status,
            403U);
  EXPECT_EQ(remove({{"Sec-Fetch-Site", "same-origin"}}), 204U);
}

TEST(People, ChangeTheirOwnPasswordOnlyWithTheOldOne) {
  WebStation hall;
  const std::string viewer = hall.add_person("Ines", archive::Role::viewer);
  const auto patch = [&](std::string_view body) {
    return hall.ask("PATCH", "/api/v1/people/Ines", viewer, body).status;
  };
  EXPECT_EQ(patch(R"({"password":"another password"})"), 422U);
  EXPECT_EQ(patch(R"({"password":"another password","old_password":"wrong wrong"})"), 403U);
  EXPECT_EQ(patch(R"({"cameras":null})"), 422U);
  EXPECT_EQ(hall.ask("PATCH", "/api/v1/people/Marta", viewer, R"({"password":"another password"})").status,
            403U);
  EXPECT_EQ(patch(R"({"password":"another password","old_password":"a long password"})"), 204U);
  EXPECT_EQ(
      hall.ask("POST", "/api/v1/sign-in", {}, R"({"name":"Ines","password":"another password"})").status,
      204U);
  EXPECT_EQ(hall.ask("DELETE", "/api/v1/people/Marta", hall.owner()).status, 409U);
}

TEST(People, TheOldPasswordIsGuessedTenTimesWhateverTheSpelling) {
  WebStation hall;
  const std::string viewer = hall.add_person("Ines", archive::Role::viewer);
  const char* spellings[] = {"Ines", "ines", "INES", "iNES"};
  const std::string body = R"({"password":"another password","old_password":"wrong wrong"})";
  for (int tries = 0; tries < 10; ++tries) {
    ASSERT_EQ(hall.ask("PATCH", std::string("/api/v1/people/") + spellings[tries % 4], viewer, body).status,
              403U);
  }
  EXPECT_EQ(hall.ask("PATCH", "/api/v1/people/InEs", viewer, body).status, 429U);
}

}  // namespace
}  // namespace rookery::test
