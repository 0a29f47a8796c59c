// Asking: the decisions of one GET - which address is asked next, with which sign-in - without I/O.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "net/address.h"
#include "net/response_parser.h"
#include "net/sign_in.h"

namespace rookery::net {

// strand-bound. A sign-in that a host accepted is sent at once the next time.
class Asking {
 public:
  explicit Asking(int redirects_most) : redirects_most_(redirects_most) {}

  // Begins a GET. The remembered sign-in goes when host, user or password are others.
  void begin(Address address);

  // What to ask now: after begin(), and again after go_on() said so.
  const Address& address() const& { return address_; }
  const Address& address() const&& = delete;
  // The request for it, with the empty line at its end. Each call counts as sent (RFC 7616: nonce count).
  std::string request();

  // What an answer's head leads to: true to ask again (the board wants a sign-in, or sent us elsewhere),
  // false when it is the answer. Errors: no_permission (401 with and without sign-in; a redirect from https
  // to http that would carry a password), unsupported (kind of sign-in), malformed (redirects in a circle,
  // more than redirects_most, to what is no address). `where` is empty.
  base::Result<bool> go_on(const HttpHead& head);

 private:
  base::Result<bool> wants_sign_in(const HttpHead& head);
  base::Result<Address> next_address(const HttpHead& head);

  int redirects_most_;
  Address address_;
  std::vector<Address> seen_;
  int tries_ = 0;  // requests of this GET that were sent with a sign-in after a demand for one
  std::optional<SignIn> sign_in_;
  Address signed_for_;
};

}  // namespace rookery::net
