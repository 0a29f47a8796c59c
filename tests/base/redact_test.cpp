// No secret leaves in an address that is shown.
#include "base/redact.h"

#include <gtest/gtest.h>

namespace rookery::base {
namespace {

TEST(RedactAddress, HidesUserInformationAndSecretQueryValues) {
  EXPECT_EQ(redact_address("http://ann:pw@10.0.0.7:81/stream"), "http://***@10.0.0.7:81/stream");
  EXPECT_EQ(redact_address("/live/anvil.mjpeg?token=abc&width=320"), "/live/anvil.mjpeg?token=***&width=320");
  EXPECT_EQ(redact_address("http://h/?a=1&Password=x"), "http://h/?a=1&Password=***");
  EXPECT_EQ(redact_address("http://h/p?token="), "http://h/p?token=***");
}

TEST(RedactAddress, JudgesKeysAsTheyAreRead) {
  EXPECT_EQ(redact_address("/live/cog.mjpeg?%74oken=abc"), "/live/cog.mjpeg?%74oken=***");
  EXPECT_EQ(redact_address("/x?toke%6e=abc"), "/x?toke%6e=***");
  EXPECT_EQ(redact_address("/x?toke%6=abc&%zz=1"), "/x?toke%6=abc&%zz=1");
}

TEST(RedactAddress, KnowsSecretsByHowTheirNamesEnd) {
  for (const char* key :
       {"token",    "key",         "code",       "password",     "pass",       "passwd",
        "pwd",      "pw",          "psk",        "auth",         "sig",        "secret",
        "apikey",   "api_key",     "API-Key",    "access_token", "auth_token", "accessToken",
        "wifi.psk", "X-Signature", "passphrase", "user_pw"}) {
    EXPECT_EQ(redact_address(std::string("http://h/x?size=8&") + key + "=abc"),
              std::string("http://h/x?size=8&") + key + "=***");
  }
  for (const char* key : {"size", "keyframe", "width", "quality", "authors", "at"}) {
    const std::string address = std::string("http://h/x?") + key + "=8";
    EXPECT_EQ(redact_address(address), address);
  }
}

TEST(RedactAddress, PasswordMayHoldAnAtSign) {
  EXPECT_EQ(redact_address("http://ann:p@w@h/x"), "http://***@h/x");
}

TEST(RedactAddress, LeavesTheRestAlone) {
  for (const char* text : {"", "http://h/stream", "h:81/x?size=8&", "/a@b"})
    EXPECT_EQ(redact_address(text), text);
}

}  // namespace
}  // namespace rookery::base
