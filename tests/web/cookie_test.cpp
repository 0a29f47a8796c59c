#include "web/cookie.h"

#include <gtest/gtest.h>

namespace rookery::web {
namespace {

TEST(SessionIn, FindsTheCookieAmongOthers) {
  EXPECT_EQ(session_in("rookery_session=abc"), "abc");
  EXPECT_EQ(session_in("a=b; rookery_session=abc; c=d"), "abc");
  EXPECT_EQ(session_in("a=b;rookery_session=abc"), "abc");
  EXPECT_EQ(session_in("rookery_session_x=abc"), "");
  EXPECT_EQ(session_in("x=rookery_session=abc"), "");
  EXPECT_EQ(session_in("rookery_session="), "");
  EXPECT_EQ(session_in(";;; ;"), "");
  EXPECT_EQ(session_in(""), "");
}

TEST(SessionCookie, IsOutOfReachOfScriptsAndOtherSites) {
  EXPECT_EQ(session_cookie("abc", std::chrono::hours{1}, false),
            "rookery_session=abc; Path=/; HttpOnly; SameSite=Strict; Max-Age=3600");
  EXPECT_EQ(session_cookie("abc", std::chrono::hours{1}, true),
            "rookery_session=abc; Path=/; HttpOnly; SameSite=Strict; Max-Age=3600; Secure");
  EXPECT_EQ(session_cookie("", std::chrono::hours{1}, false),
            "rookery_session=; Path=/; HttpOnly; SameSite=Strict; Max-Age=0");
}

Request with(std::initializer_list<std::pair<std::string, std::string>> fields) {
  Request request;
  for (const auto& [name, value] : fields) request.fields.insert(name, value);
  return request;
}

TEST(SameOrigin, IsWhatTheBrowserVouchesFor) {
  EXPECT_TRUE(is_same_origin(with({{"Host", "127.0.0.1:7420"}, {"Sec-Fetch-Site", "same-origin"}})));
  EXPECT_FALSE(
      is_same_origin(with({{"Host", "a:1"}, {"Origin", "http://a:1"}, {"Sec-Fetch-Site", "cross-site"}})));
  EXPECT_FALSE(is_same_origin(with({{"Host", "a:1"}, {"Sec-Fetch-Site", "same-site"}})));
  EXPECT_TRUE(is_same_origin(with({{"Host", "a:1"}, {"Origin", "http://a:1"}})));
  EXPECT_TRUE(is_same_origin(with({{"Host", "a"}, {"Origin", "https://A"}})));
  EXPECT_FALSE(is_same_origin(with({{"Host", "a:1"}, {"Origin", "http://a:2"}})));
  EXPECT_FALSE(is_same_origin(with({{"Host", "a:1"}, {"Origin", "null"}})));
  EXPECT_FALSE(is_same_origin(with({{"Host", "a:1"}, {"Origin", "http://a:1.example"}})));
  EXPECT_FALSE(is_same_origin(with({{"Host", "a:1"}})));
}

TEST(CrossSite, IsNotSaidOfProgramsThatSayNothing) {
  EXPECT_FALSE(is_cross_site(with({{"Host", "a:1"}})));
  EXPECT_TRUE(is_cross_site(with({{"Host", "a:1"}, {"Origin", "http://b"}})));
  EXPECT_FALSE(is_cross_site(with({{"Host", "a:1"}, {"Origin", "http://a:1"}})));
}

TEST(KnownHost, OnLoopbackIsLocalhostOnly) {
  for (const char* host :
       {"localhost", "localhost:7420", "LOCALHOST", "127.0.0.1:7420", "[::1]:7420", "[::1]"}) {
    EXPECT_TRUE(is_known_host(host, true, {})) << host;
  }
  for (const char* host :
       {"station.example", "127.0.0.1.example:7420", "192.0.2.1", "", "[::1", "localhost."}) {
    EXPECT_FALSE(is_known_host(host, true, {})) << host;
  }
  EXPECT_TRUE(is_known_host("hall.example:7420", true, {"hall.example"}));
}

TEST(KnownHost, OnTheNetworkIsAnythingUnlessNamesAreGiven) {
  EXPECT_TRUE(is_known_host("whatever.example", false, {}));
  EXPECT_FALSE(is_known_host("whatever.example", false, {"hall.example"}));
  EXPECT_TRUE(is_known_host("192.0.2.1:80", false, {"hall.example"}));
}

}  // namespace
}  // namespace rookery::web
