// RFC 7616 §3.9.1: the published example of a digest sign-in, for both hashes.
#include <gtest/gtest.h>

#include "net/sign_in.h"

namespace rookery::net {
namespace {

constexpr const char* kCnonce = "f2/wE4q74E6zIJEtWaHKaf5wv/H5QzzpXusqGemxURZJ";

std::string challenge(const std::string& algorithm) {
  return "Digest realm=\"http-auth@example.org\", qop=\"auth, auth-int\", algorithm=" + algorithm +
         ", nonce=\"7ypf/xlj9XXwfDPEoM4URrv/xwf94BcCAzFZH4GiTo0v\", "
         "opaque=\"FQhe/qaU925kfnzjCev0ciny7QMkPqMAFRtzCUYo5tdS\"";
}

std::string answer(const std::string& algorithm) {
  SignIn sign_in("Mufasa", "Circle of Life");
  EXPECT_TRUE(sign_in.accept({challenge(algorithm)}));
  return sign_in.header("GET", "/dir/index.html", kCnonce).value_or("");
}

TEST(Rfc7616, ExampleWithMd5) {
  const std::string value = answer("MD5");
  EXPECT_NE(value.find("response=\"8ca523f5e9506fed4657c9700eebdbec\""), std::string::npos) << value;
  EXPECT_NE(value.find("opaque=\"FQhe/qaU925kfnzjCev0ciny7QMkPqMAFRtzCUYo5tdS\""), std::string::npos);
  EXPECT_NE(value.find("nc=00000001"), std::string::npos);
}

TEST(Rfc7616, ExampleWithSha256) {
  const std::string value = answer("SHA-256");
  EXPECT_NE(value.find("response=\"753927fa0e85d155564e2e272a28d1802ca10daf4496794697cf8db5856cb6c1\""),
            std::string::npos)
      << value;
}

}  // namespace
}  // namespace rookery::net
