#include "net/sign_in.h"

#include <gtest/gtest.h>

namespace rookery::net {
namespace {

TEST(Challenge, SeveralShareOneField) {
  const auto all =
      parse_challenges(R"(Digest realm="a, \"b\"", nonce=xyz/=, qop="auth,auth-int", Basic realm="kiln")");
  ASSERT_EQ(all.size(), 2u);
  EXPECT_EQ(all[0].scheme, "digest");
  EXPECT_EQ(all[0].param("realm"), "a, \"b\"");
  EXPECT_EQ(all[0].param("nonce"), "xyz/=");
  EXPECT_EQ(all[1].scheme, "basic");
  EXPECT_EQ(all[1].param("realm"), "kiln");
}

TEST(Challenge, RubbishIsSkipped) {
  for (const char* text : {"", ",,,", "=", "\"", "Digest", "Digest realm", "Digest realm=\"never closed",
                           "\x01\x02", "Digest realm=\"x\\"}) {
    EXPECT_LE(parse_challenges(text).size(), 2u) << text;
  }
}

TEST(SignIn, BasicAsInRfc7617) {
  SignIn sign_in("Aladdin", "open sesame");
  EXPECT_FALSE(sign_in.header("GET", "/").has_value());
  ASSERT_TRUE(sign_in.accept({"Basic realm=\"WallyWorld\""}));
  EXPECT_EQ(sign_in.header("GET", "/"), "Basic QWxhZGRpbjpvcGVuIHNlc2FtZQ==");
}

TEST(SignIn, TakesTheStrongest) {
  SignIn sign_in("kiln", "pw");
  ASSERT_TRUE(sign_in.accept({"Basic realm=\"x\"", "Digest realm=\"x\", nonce=\"n\", qop=\"auth\"",
                              "Digest realm=\"x\", nonce=\"n\", algorithm=SHA-256, qop=\"auth\""}));
  EXPECT_NE(sign_in.header("GET", "/")->find("algorithm=SHA-256"), std::string::npos);
}

TEST(SignIn, CountsTheNonceOn) {
  SignIn sign_in("kiln", "pw");
  ASSERT_TRUE(sign_in.accept({"Digest realm=\"x\", nonce=\"n\", qop=\"auth\""}));
  EXPECT_NE(sign_in.header("GET", "/")->find("nc=00000001"), std::string::npos);
  EXPECT_NE(sign_in.header("GET", "/")->find("nc=00000002"), std::string::npos);
  ASSERT_TRUE(sign_in.accept({"Digest realm=\"x\", nonce=\"m\", qop=\"auth\", stale=TRUE"}));
  EXPECT_TRUE(sign_in.stale());
  EXPECT_NE(sign_in.header("GET", "/")->find("nc=00000001"), std::string::npos);
}

TEST(SignIn, WithoutQopAsOldServersWantIt) {
  // RFC 2069 §2.4 with its erratum 749.
  SignIn sign_in("Mufasa", "CircleOfLife");
  ASSERT_TRUE(
      sign_in.accept({"Digest realm=\"testrealm@host.com\", nonce=\"dcd98b7102dd2f0e8b11d0f600bfb0c093\""}));
  const std::string value = *sign_in.header("GET", "/dir/index.html", "unused");
  EXPECT_NE(value.find("response=\"1949323746fe6a43ef61f9606e7febea\""), std::string::npos) << value;
  EXPECT_EQ(value.find("nc="), std::string::npos);
}

TEST(SignIn, RefusesWhatItDoesNotKnow) {
  SignIn sign_in("kiln", "pw");
  EXPECT_FALSE(sign_in.accept({"Negotiate", "Digest realm=\"x\", nonce=\"n\", algorithm=SHA-512-256"}));
  EXPECT_FALSE(sign_in.accept({"Digest realm=\"x\", nonce=\"n\", qop=\"auth-int\""}));
  EXPECT_FALSE(sign_in.accept({}));
}

TEST(SignIn, NoControlCharacterGetsIntoAHeader) {
  SignIn sign_in("ki\r\nln\"", "pw");
  ASSERT_TRUE(sign_in.accept({"Digest realm=\"x\", nonce=\"n\""}));
  const std::string value = *sign_in.header("GET", "/");
  EXPECT_EQ(value.find('\r'), std::string::npos);
  EXPECT_NE(value.find("username=\"kiln\\\"\""), std::string::npos) << value;
}

}  // namespace
}  // namespace rookery::net
