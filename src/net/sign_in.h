// SignIn: answers a board's demand for user and password: Basic (RFC 7617) and Digest (RFC 7616: MD5,
// SHA-256, their -sess forms, qop auth or none). Reads challenges, makes Authorization values. No I/O.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace rookery::net {

// One challenge of a WWW-Authenticate field.
struct Challenge {
  std::string scheme;                                       // lower case: "basic", "digest"
  std::vector<std::pair<std::string, std::string>> params;  // names lower case, values without quotes

  std::string_view param(std::string_view name) const&;
  std::string_view param(std::string_view name) const&& = delete;
};

// All challenges of one field value; several may share it, separated by commas. What cannot be read is
// skipped.
std::vector<Challenge> parse_challenges(std::string_view field);

// strand-bound. The sign-in to one board; keeps the nonce from request to request.
class SignIn {
 public:
  SignIn(std::string user, std::string password);

  // False when there is neither user nor password: nothing to sign in with.
  bool usable() const { return !user_.empty() || !password_.empty(); }

  // A 401 came with these WWW-Authenticate values. Takes the strongest that it knows: Digest SHA-256, Digest
  // MD5, Basic. False when none is known. `stale` tells that only the nonce was too old.
  bool accept(const std::vector<std::string>& fields);
  bool stale() const { return stale_; }

  // The Authorization value for a request; none before accept(). Each call counts the nonce on.
  std::optional<std::string> header(std::string_view method, std::string_view target);
  // The same with a given client nonce: for checking against published examples.
  std::optional<std::string> header(std::string_view method, std::string_view target,
                                    std::string_view cnonce);

 private:
  std::string user_;
  std::string password_;
  std::optional<Challenge> challenge_;
  bool stale_ = false;
  std::uint32_t uses_ = 0;  // of this nonce
  std::string session_cnonce_;
};

}  // namespace rookery::net
