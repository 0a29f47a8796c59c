#include "net/asking.h"

#include <algorithm>

#include <fmt/format.h>
#include <boost/beast/core/string.hpp>

namespace rookery::net {

using base::Error;
using base::ErrorCode;
using base::Result;

namespace {

bool is_redirect(int status) {
  return status == 301 || status == 302 || status == 303 || status == 307 || status == 308;
}

std::vector<std::string> challenges_of(const HttpHead& head) {
  std::vector<std::string> out;
  for (const auto& field : head.fields) {
    if (boost::beast::iequals(field.name, "WWW-Authenticate")) out.push_back(field.value);
  }
  return out;
}

}  // namespace

void Asking::begin(Address address) {
  if (sign_in_ && (signed_for_.host != address.host || signed_for_.user != address.user ||
                   signed_for_.password != address.password)) {
    sign_in_.reset();
  }
  address_ = std::move(address);
  seen_ = {address_};
  // A remembered sign-in was sent already; a demand then means that its nonce is old or the password changed.
  tries_ = 0;
}

std::string Asking::request() {
  std::string out =
      fmt::format("GET {} HTTP/1.1\r\nHost: {}\r\nUser-Agent: rookery\r\nAccept: {}\r\n", address_.target,
                  address_.host_field(), "multipart/x-mixed-replace, image/jpeg, */*;q=0.5");
  if (sign_in_ && signed_for_.host == address_.host) {
    if (const auto value = sign_in_->header("GET", address_.target))
      out += "Authorization: " + *value + "\r\n";
  }
  return out + "\r\n";
}

// After a 401: whether to ask again, now with the sign-in. Errors: no_permission.
Result<bool> Asking::wants_sign_in(const HttpHead& head) {
  if (head.status != 401) return false;
  const std::vector<std::string> fields = challenges_of(head);
  const bool have = !address_.user.empty() || !address_.password.empty();
  if (!have) {
    return Error(ErrorCode::no_permission, {}, "the board asks for a user and password (401)",
                 "Set the camera's user and password");
  }
  const bool tried = tries_ > 0;
  if (!tried) {
    sign_in_.emplace(address_.user, address_.password);
    signed_for_ = address_;
  }
  const bool known_kind = sign_in_->accept(fields);
  if (tried && !(known_kind && tries_ == 1 && sign_in_->stale())) {
    sign_in_.reset();
    return Error(ErrorCode::no_permission, {}, "the board does not accept this user and password (401)",
                 "Correct the camera's user and password");
  }
  if (!known_kind) {
    return Error(ErrorCode::unsupported, {},
                 "the board asks for a kind of sign-in that Rookery does not know (401)",
                 "Rookery knows Basic and Digest with MD5 or SHA-256");
  }
  ++tries_;
  return true;
}

Result<Address> Asking::next_address(const HttpHead& head) {
  auto next = address_.resolve(head.find("Location"));
  if (!next) return next;
  if (address_.scheme == Scheme::https && next->scheme == Scheme::http &&
      !(next->user.empty() && next->password.empty())) {
    return Error(
        ErrorCode::no_permission, {},
        fmt::format("it redirects from https to {}, where the password would be readable", next->shown()),
        "Use the http:// address itself if that is what you want");
  }
  if (std::ranges::find(seen_, *next) != seen_.end()) {
    return Error(ErrorCode::malformed, {}, fmt::format("it redirects in a circle, back to {}", next->shown()),
                 "Use the address of the stream itself");
  }
  seen_.push_back(*next);
  if (seen_.size() > static_cast<std::size_t>(redirects_most_) + 1) {
    return Error(ErrorCode::malformed, {}, fmt::format("it redirects more than {} times", redirects_most_),
                 "Use the address of the stream itself");
  }
  return next;
}

Result<bool> Asking::go_on(const HttpHead& head) {
  Result<bool> sign_in_wanted = wants_sign_in(head);
  if (!sign_in_wanted || *sign_in_wanted) return sign_in_wanted;
  if (!is_redirect(head.status) || head.find("Location").empty()) return false;
  Result<Address> next = next_address(head);
  if (!next) return next.error();
  address_ = std::move(next).value();
  return true;
}

}  // namespace rookery::net
