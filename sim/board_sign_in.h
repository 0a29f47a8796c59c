// The door of a board that asks for a name and a password: HTTP Basic (RFC 7617) and Digest (RFC 7616),
// server side, for tests.
#pragma once

#include <string>
#include <string_view>

namespace rookery::sim {

enum class SignIn : unsigned char { none, basic, digest_md5, digest_sha256 };

// immutable.
class Door {
 public:
  // `nonce` is what the digest challenge hands out.
  Door(SignIn kind, std::string user, std::string password, std::string nonce);
  // Whether a request with this Authorization header (empty: none) may pass.
  bool admits(std::string_view method, std::string_view target, std::string_view authorization) const;
  // The WWW-Authenticate line with its CRLF; empty when no sign-in is asked for.
  std::string challenge() const;

 private:
  bool admits_digest(std::string_view method, std::string_view target, std::string_view fields) const;
  std::string hash(std::string_view text) const;

  SignIn kind_;
  std::string user_;
  std::string password_;
  std::string nonce_;
};

}  // namespace rookery::sim
