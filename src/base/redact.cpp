#include "base/redact.h"

#include <algorithm>
#include <array>

namespace rookery::base {
namespace {

// What the name of a secret ends with, without regard to case and to what joins its words: "api_key",
// "AccessToken". Boards name theirs as they like; a value too many that is hidden does less harm than one too
// few.
constexpr std::array<std::string_view, 14> kSecretEndings = {
    "token", "key", "code", "password", "pass", "passwd", "passphrase",
    "pwd",   "pw",  "psk",  "auth",     "sig",  "secret", "signature"};

bool is_secret_key(std::string_view key) {
  std::string plain;
  for (const char c : key) {
    if (c >= 'A' && c <= 'Z') plain += static_cast<char>(c - 'A' + 'a');
    if ((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9')) plain += c;
  }
  return std::ranges::any_of(kSecretEndings,
                             [&plain](std::string_view ending) { return plain.ends_with(ending); });
}

int hex_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

// "%74oken" → "token": whoever reads the query decodes its keys, so they are judged decoded.
std::string percent_decoded(std::string_view key) {
  std::string out;
  for (std::size_t i = 0; i < key.size(); ++i) {
    const bool escaped =
        key[i] == '%' && i + 2 < key.size() && hex_digit(key[i + 1]) >= 0 && hex_digit(key[i + 2]) >= 0;
    out += escaped ? static_cast<char>(hex_digit(key[i + 1]) * 16 + hex_digit(key[i + 2])) : key[i];
    if (escaped) i += 2;
  }
  return out;
}

// "a=1&token=x" → "a=1&token=***"
std::string redact_query(std::string_view query) {
  std::string out;
  while (!query.empty()) {
    const std::size_t end = std::min(query.find('&'), query.size());
    const std::string_view pair = query.substr(0, end);
    const std::size_t equals = pair.find('=');
    if (equals != std::string_view::npos && is_secret_key(percent_decoded(pair.substr(0, equals)))) {
      out.append(pair.substr(0, equals + 1)).append("***");
    } else {
      out.append(pair);
    }
    if (end < query.size()) out += '&';
    query.remove_prefix(std::min(end + 1, query.size()));
  }
  return out;
}

}  // namespace

std::string redact_address(std::string_view address) {
  std::string out;
  const std::size_t scheme = address.find("://");
  if (scheme != std::string_view::npos) {
    const std::size_t start = scheme + 3;
    const std::string_view authority = address.substr(start, address.find_first_of("/?#", start) - start);
    const std::size_t at = authority.rfind('@');
    out.append(address.substr(0, start));
    if (at != std::string_view::npos) out.append("***@");
    address.remove_prefix(start + (at == std::string_view::npos ? 0 : at + 1));
  }
  const std::size_t question = address.find('?');
  out.append(address.substr(0, question));
  if (question != std::string_view::npos) {
    out += '?';
    out += redact_query(address.substr(question + 1));
  }
  return out;
}

}  // namespace rookery::base
