// Address: an http:// or https:// URL taken apart, with the sign-in that may stand in it kept apart from what
// is shown.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "base/result.h"

namespace rookery::net {

enum class Scheme { http, https };

// immutable value once parsed.
struct Address {
  static constexpr std::size_t kMaxLength =
      2048;  // RFC 9110 §4.1 asks for 8000 at least; a board's has under 100

  Scheme scheme = Scheme::http;
  std::string host;  // a name in lower case, or an IP address without brackets
  std::uint16_t port = 80;
  std::string target = "/";  // path and query, percent-encoded, as the request line wants it; no fragment
  std::string user;          // percent-decoded; empty without user information
  std::string password;

  // Reads what a person typed; white space around it is ignored. Errors: invalid_value, saying which part is
  // wrong and what it could be; unsupported for another scheme. No error text holds the password.
  static base::Result<Address> parse(std::string_view text);

  // Where a Location field of an answer from this address leads (RFC 3986 §5); it may be relative. The
  // sign-in stays only when the host stays. Errors: as parse().
  base::Result<Address> resolve(std::string_view location) const;

  // "127.0.0.1:81", "[::1]", as a Host field wants it: the port only when it is not the scheme's own.
  std::string host_field() const;
  // The address for people and logs: no user information, secrets in the query replaced.
  std::string shown() const;

  bool same_origin(const Address& other) const {
    return scheme == other.scheme && port == other.port && host == other.host;
  }
  bool operator==(const Address&) const = default;
};

}  // namespace rookery::net
