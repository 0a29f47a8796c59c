#include "notices/http_signature.h"

#include <fmt/format.h>
#include <openssl/evp.h>
#include <openssl/hmac.h>
#include <openssl/sha.h>

#include <array>

#include "notices/base64.h"

namespace rookery::notices {
namespace {

const unsigned char* raw(std::string_view text) {
  return reinterpret_cast<const unsigned char*>(text.data());
}

std::string sha256(std::string_view bytes) {
  std::array<unsigned char, SHA256_DIGEST_LENGTH> digest{};
  ::SHA256(raw(bytes), bytes.size(), digest.data());
  return {reinterpret_cast<const char*>(digest.data()), digest.size()};
}

}  // namespace

std::string hmac_sha256(std::string_view key, std::string_view message) {
  std::array<unsigned char, SHA256_DIGEST_LENGTH> code{};
  unsigned int size = 0;
  ::HMAC(::EVP_sha256(), key.data(), static_cast<int>(key.size()), raw(message), message.size(), code.data(),
         &size);
  return {reinterpret_cast<const char*>(code.data()), size};
}

std::string signature_base(const Components& components, std::string_view params) {
  std::string base;
  for (const auto& [name, value] : components) base += fmt::format("\"{}\": {}\n", name, value);
  return base + fmt::format("\"@signature-params\": {}", params);
}

SignedHeaders sign_post(std::string_view address, std::string_view body, std::string_view key,
                        std::string_view key_id, base::WallTime created) {
  SignedHeaders headers;
  headers.content_digest = fmt::format("sha-256=:{}:", base64(sha256(body)));
  const auto seconds = std::chrono::floor<std::chrono::seconds>(created).time_since_epoch().count();
  const std::string params = fmt::format(
      R"(("@method" "@target-uri" "content-type" "content-digest");created={};keyid="{}";alg="hmac-sha256")",
      seconds, key_id);
  const std::string base = signature_base({{"@method", "POST"},
                                           {"@target-uri", std::string(address)},
                                           {"content-type", "application/json"},
                                           {"content-digest", headers.content_digest}},
                                          params);
  headers.signature_input = "rookery=" + params;
  headers.signature = fmt::format("rookery=:{}:", base64(hmac_sha256(key, base)));
  return headers;
}

}  // namespace rookery::notices
