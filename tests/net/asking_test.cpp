// Where one GET leads: redirects and sign-in, decided without a socket.
#include "net/asking.h"

#include <gtest/gtest.h>

namespace rookery::net {
namespace {

using base::ErrorCode;

Address address_of(const char* text, const char* user = "", const char* password = "") {
  Address address = Address::parse(text).value();
  address.user = user;
  address.password = password;
  return address;
}

HttpHead head_of(int status, std::vector<HttpHead::Field> fields = {}) {
  HttpHead head;
  head.status = status;
  head.fields = std::move(fields);
  return head;
}

HttpHead redirect_to(const char* location, int status = 302) {
  return head_of(status, {{"Location", location}});
}

HttpHead demand(const char* challenge) { return head_of(401, {{"WWW-Authenticate", challenge}}); }

constexpr const char* kDigest = R"(Digest realm="board", qop="auth", nonce="first")";
constexpr const char* kStaleDigest = R"(Digest realm="board", qop="auth", nonce="second", stale=true)";

bool signs_in(Asking& asking) { return asking.request().find("Authorization: ") != std::string::npos; }

TEST(Asking, AnAnswerIsTheEnd) {
  Asking asking(5);
  asking.begin(address_of("http://cog:81/stream?x=1"));
  EXPECT_TRUE(asking.request().starts_with("GET /stream?x=1 HTTP/1.1\r\nHost: cog:81\r\n"));
  EXPECT_TRUE(asking.request().ends_with("\r\n\r\n"));
  for (const int status : {200, 204, 304, 404, 500, 503}) EXPECT_FALSE(asking.go_on(head_of(status)).value());
  EXPECT_FALSE(asking.go_on(head_of(302)).value()) << "without a Location there is nowhere to go";
}

TEST(Asking, RedirectsAreFollowedFromWhereTheyStand) {
  Asking asking(5);
  asking.begin(address_of("http://cog/a/b"));
  EXPECT_TRUE(asking.go_on(redirect_to("c", 307)).value());
  EXPECT_EQ(asking.address().shown(), "http://cog/a/c");
  EXPECT_TRUE(asking.go_on(redirect_to("http://cog:81/stream", 301)).value());
  EXPECT_EQ(asking.address().shown(), "http://cog:81/stream");
  EXPECT_EQ(asking.go_on(redirect_to("http://cog/a/c")).error().code, ErrorCode::malformed) << "a circle";
  asking.begin(address_of("http://cog/a/b"));
  for (const char* next : {"1", "2", "3", "4", "5"}) EXPECT_TRUE(asking.go_on(redirect_to(next)).value());
  const auto sixth = asking.go_on(redirect_to("6"));
  ASSERT_FALSE(sixth.has_value());
  EXPECT_NE(sixth.error().detail.find("more than 5 times"), std::string::npos);
}

TEST(Asking, APasswordNeverGoesFromTlsIntoTheOpen) {
  Asking asking(5);
  asking.begin(address_of("https://cog/stream", "kiln", "hunter2"));
  const auto moved = asking.go_on(redirect_to("http://cog/stream"));
  ASSERT_FALSE(moved.has_value());
  EXPECT_EQ(moved.error().code, ErrorCode::no_permission);
  EXPECT_EQ(moved.error().text().find("hunter2"), std::string::npos);
  asking.begin(address_of("https://cog/stream"));
  EXPECT_TRUE(asking.go_on(redirect_to("http://cog/stream")).value()) << "without one it may";
}

TEST(Asking, ADemandIsAnsweredOnceAndRememberedForTheNextTime) {
  Asking asking(5);
  const Address address = address_of("http://cog/stream", "kiln", "hunter2");
  asking.begin(address);
  EXPECT_FALSE(signs_in(asking)) << "nobody has asked for it";
  EXPECT_TRUE(asking.go_on(demand(kDigest)).value());
  EXPECT_TRUE(signs_in(asking));
  const auto refused = asking.go_on(demand(kDigest));
  ASSERT_FALSE(refused.has_value());
  EXPECT_NE(refused.error().detail.find("does not accept this user and password"), std::string::npos);

  asking.begin(address);
  EXPECT_TRUE(asking.go_on(demand(kDigest)).value());
  EXPECT_FALSE(asking.go_on(head_of(200)).value());
  asking.begin(address);
  EXPECT_TRUE(signs_in(asking)) << "at once, the next time";
  asking.begin(address_of("http://cog/stream", "kiln", "other"));
  EXPECT_FALSE(signs_in(asking));
}

TEST(Asking, ANonceThatGrewOldIsExchangedOnce) {
  Asking asking(5);
  asking.begin(address_of("http://cog/stream", "kiln", "hunter2"));
  EXPECT_TRUE(asking.go_on(demand(kDigest)).value());
  EXPECT_TRUE(asking.go_on(demand(kStaleDigest)).value());
  EXPECT_NE(asking.request().find("nonce=\"second\""), std::string::npos);
  EXPECT_EQ(asking.go_on(demand(kStaleDigest)).error().code, ErrorCode::no_permission);
}

TEST(Asking, ASignInStaysWithItsHost) {
  Asking asking(5);
  asking.begin(address_of("http://cog/stream", "kiln", "hunter2"));
  EXPECT_TRUE(asking.go_on(demand(kDigest)).value());
  EXPECT_TRUE(asking.go_on(redirect_to("http://cog:81/stream")).value());
  EXPECT_TRUE(signs_in(asking)) << "the board's other port";
  EXPECT_TRUE(asking.go_on(redirect_to("http://bobbin/stream")).value());
  EXPECT_FALSE(signs_in(asking));
}

TEST(Asking, WhatCannotBeAnsweredIsSaid) {
  Asking asking(5);
  asking.begin(address_of("http://cog/stream"));
  EXPECT_NE(asking.go_on(demand(kDigest)).error().detail.find("asks for a user and password"),
            std::string::npos);
  asking.begin(address_of("http://cog/stream", "kiln", "hunter2"));
  EXPECT_EQ(asking.go_on(demand("Bearer realm=\"board\"")).error().code, ErrorCode::unsupported);
  EXPECT_EQ(asking.go_on(redirect_to("ftp://cog/stream")).has_value(), false);
}

}  // namespace
}  // namespace rookery::net
