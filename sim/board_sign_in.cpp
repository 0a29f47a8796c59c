#include "sim/board_sign_in.h"

#include <openssl/evp.h>

#include <map>

#include <boost/beast/http/rfc7230.hpp>

namespace rookery::sim {
namespace {

constexpr std::string_view kRealm = "board";

std::string base64(std::string_view text) {
  std::string out(4 * ((text.size() + 2) / 3) + 1, '\0');
  const int n =
      EVP_EncodeBlock(reinterpret_cast<unsigned char*>(out.data()),
                      reinterpret_cast<const unsigned char*>(text.data()), static_cast<int>(text.size()));
  out.resize(static_cast<std::size_t>(n));
  return out;
}

std::string hex(const unsigned char* bytes, unsigned length) {
  std::string out;
  for (unsigned i = 0; i < length; ++i) out += fmt::format("{:02x}", bytes[i]);
  return out;
}

// key=value and key="value" pairs of an auth header.
std::map<std::string, std::string, std::less<>> fields_of(std::string_view text) {
  std::map<std::string, std::string, std::less<>> fields;
  std::size_t i = 0;
  while (i < text.size()) {
    while (i < text.size() && (text[i] == ' ' || text[i] == ',' || text[i] == '\t')) ++i;
    const std::size_t equals = text.find('=', i);
    if (equals == std::string_view::npos) break;
    const std::string key(text.substr(i, equals - i));
    i = equals + 1;
    std::string value;
    if (i < text.size() && text[i] == '"') {
      for (++i; i < text.size() && text[i] != '"'; ++i) {
        if (text[i] == '\\' && i + 1 < text.size()) ++i;
        value += text[i];
      }
      ++i;
    } else {
      const std::size_t end = std::min(text.find(',', i), text.size());
      value = text.substr(i, end - i);
      i = end;
    }
    fields[key] = value;
  }
  return fields;
}

}  // namespace

Door::Door(SignIn kind, std::string user, std::string password, std::string nonce)
    : kind_(kind), user_(std::move(user)), password_(std::move(password)), nonce_(std::move(nonce)) {}

std::string Door::hash(std::string_view text) const {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  unsigned length = 0;
  EVP_Digest(text.data(), text.size(), digest.data(), &length,
             kind_ == SignIn::digest_md5 ? EVP_md5() : EVP_sha256(), nullptr);
  return hex(digest.data(), length);
}

bool Door::admits(std::string_view method, std::string_view target, std::string_view authorization) const {
  if (kind_ == SignIn::none) return true;
  const std::size_t space = authorization.find(' ');
  if (space == std::string_view::npos) return false;
  const std::string_view scheme = authorization.substr(0, space);
  const std::string_view rest = authorization.substr(space + 1);
  if (kind_ == SignIn::basic)
    return boost::beast::iequals(scheme, "basic") && rest == base64(user_ + ":" + password_);
  return boost::beast::iequals(scheme, "digest") && admits_digest(method, target, rest);
}

bool Door::admits_digest(std::string_view method, std::string_view target, std::string_view text) const {
  auto fields = fields_of(text);
  if (fields["username"] != user_ || fields["realm"] != kRealm || fields["nonce"] != nonce_) return false;
  if (fields["uri"] != target || fields["qop"] != "auth") return false;
  const std::string a1 = hash(fmt::format("{}:{}:{}", user_, kRealm, password_));
  const std::string a2 = hash(fmt::format("{}:{}", method, target));
  const std::string want =
      hash(fmt::format("{}:{}:{}:{}:auth:{}", a1, nonce_, fields["nc"], fields["cnonce"], a2));
  return fields["response"] == want;
}

std::string Door::challenge() const {
  if (kind_ == SignIn::none) return {};
  if (kind_ == SignIn::basic) return fmt::format("WWW-Authenticate: Basic realm=\"{}\"\r\n", kRealm);
  return fmt::format("WWW-Authenticate: Digest realm=\"{}\", qop=\"auth\", algorithm={}, nonce=\"{}\"\r\n",
                     kRealm, kind_ == SignIn::digest_md5 ? "MD5" : "SHA-256", nonce_);
}

}  // namespace rookery::sim
