// Signatures of webhooks against published vectors.
#include <gtest/gtest.h>
#include <openssl/evp.h>

#include "notices/base64.h"
#include "notices/http_signature.h"

namespace rookery::notices {
namespace {

std::string from_hex(std::string_view hex) {
  std::string bytes;
  for (std::size_t i = 0; i < hex.size(); i += 2)
    bytes.push_back(static_cast<char>(std::stoi(std::string(hex.substr(i, 2)), nullptr, 16)));
  return bytes;
}

std::string to_hex(std::string_view bytes) {
  std::string hex;
  for (const char c : bytes) hex += fmt::format("{:02x}", static_cast<unsigned char>(c));
  return hex;
}

// RFC 4648, section 10.
TEST(NoticeSignature, Base64IsThatOfRfc4648) {
  const char* const vectors[][2] = {{"", ""},
                                    {"f", "Zg=="},
                                    {"fo", "Zm8="},
                                    {"foo", "Zm9v"},
                                    {"foob", "Zm9vYg=="},
                                    {"fooba", "Zm9vYmE="},
                                    {"foobar", "Zm9vYmFy"}};
  for (const auto& [plain, text] : vectors) EXPECT_EQ(base64(plain), text);
}

// RFC 4231, sections 4.2 to 4.8 (4.6 is about truncated output, which is not used).
TEST(NoticeSignature, HmacSha256IsThatOfRfc4231) {
  const struct {
    std::string key, data, code;
  } cases[] = {
      {std::string(20, '\x0b'), "Hi There",
       "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"},
      {"Jefe", "what do ya want for nothing?",
       "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"},
      {std::string(20, '\xaa'), std::string(50, '\xdd'),
       "773ea91e36800e46854db8ebd09181a72959098b3ef8c122d9635514ced565fe"},
      {from_hex("0102030405060708090a0b0c0d0e0f10111213141516171819"), std::string(50, '\xcd'),
       "82558a389a443c0ea4cc819899f2083a85f0faa3e578f8077a2e3ff46729665b"},
      {std::string(131, '\xaa'), "Test Using Larger Than Block-Size Key - Hash Key First",
       "60e431591ee0b67f0d8a26aacbf5b77f8e0bc6213728c5140546040f0ee37f54"},
      {std::string(131, '\xaa'),
       "This is a test using a larger than block-size key and a larger than block-size data. The key needs "
       "to be "
       "hashed before being used by the HMAC algorithm.",
       "9b09ffa71b942fcb27635fbcd5b0e944bfdc63644f0713938a7f51535c3a35e2"},
  };
  for (const auto& one : cases) EXPECT_EQ(to_hex(hmac_sha256(one.key, one.data)), one.code) << one.data;
}

// RFC 9421, appendix B.2.5: signing a request with hmac-sha256 (key of B.1.5, request of B.2).
TEST(NoticeSignature, TheBaseAndTheSignatureAreThoseOfRfc9421) {
  const std::string params =
      R"(("date" "@authority" "content-type");created=1618884473;keyid="test-shared-secret")";
  const std::string base = signature_base({{"date", "Tue, 20 Apr 2021 02:07:55 GMT"},
                                           {"@authority", "example.com"},
                                           {"content-type", "application/json"}},
                                          params);
  EXPECT_EQ(base,
            "\"date\": Tue, 20 Apr 2021 02:07:55 GMT\n\"@authority\": example.com\n\"content-type\": "
            "application/json\n\"@signature-params\": (\"date\" \"@authority\" "
            "\"content-type\");created=1618884473;keyid=\"test-shared-secret\"");
  std::string key(64 + 3, '\0');
  const std::string text =
      "uzvJfB4u3N0Jy4T7NZ75MDVcr8zSTInedJtkgcu46YW4XByzNJjxBdtjUkdJPBtbmHhIDi6pcl8jsasjlTMtDQ==";
  ASSERT_EQ(
      EVP_DecodeBlock(reinterpret_cast<unsigned char*>(key.data()),
                      reinterpret_cast<const unsigned char*>(text.data()), static_cast<int>(text.size())),
      66);
  key.resize(64);
  EXPECT_EQ(base64(hmac_sha256(key, base)), "pxcQw6G3AjtMBQjwo8XzkZf/bws5LelbaMk5rGIGtE8=");
}

// The digest (RFC 9530) of the body {"hello": "world"}, as RFC 9421 has it in its examples of sha-256
// (section 7.2.8 names the field).
TEST(NoticeSignature, ADigestIsThatOfTheBody) {
  const auto headers = sign_post("https://example.com/foo", R"({"hello": "world"})", "key", "receiver-1", {});
  EXPECT_EQ(headers.content_digest, "sha-256=:X48E9qOokqqrvdts8nOJRJN3OWDUoyWxBf7kbu9DBPE=:");
}

}  // namespace
}  // namespace rookery::notices
