// Result<T>: a value or the reason why there is none. The project's way to report expected failure.
#pragma once

#include <cassert>
#include <string>
#include <string_view>
#include <utility>
#include <variant>

namespace rookery::base {

// What kind of failure it was; decides exit codes and HTTP status (web/problem.h).
enum class ErrorCode {
  invalid_value,   // the caller's value is outside what is allowed
  not_found,       // no such camera, file, person, segment
  already_exists,  // the name is taken
  no_permission,   // not signed in, wrong password, role or token not enough
  refused,         // the other side said no (connection refused, HTTP 4xx/5xx)
  unreachable,     // no such host, no route
  timed_out,       // nothing came in the time allowed
  closed,          // the other side ended early
  malformed,       // bytes that do not follow their format
  too_large,       // more bytes, pixels or entries than the stated bound
  unsupported,     // well-formed, but not something we do
  disk_full,       // no space, quota used up
  io,              // any other failure of disk or network
  newer_version,   // written by a later program
  damaged,         // stored data that does not check out
  busy,            // someone else holds it
  cancelled,       // we were asked to stop
};

// A machine word for a code, as used in JSON: "invalid-value", "timed-out", …
std::string_view name_of(ErrorCode code);

// One failure: each says where, what was wrong with which value, and what to do.
struct Error {
  ErrorCode code{};
  std::string where;   // what was being done: "bobbin: GET /stream"
  std::string detail;  // what was wrong, with the value: "connection refused"
  std::string remedy;  // what to do; may be empty where detail says it all

  Error() = default;
  Error(ErrorCode code_, std::string where_, std::string detail_, std::string remedy_ = {})
      : code(code_), where(std::move(where_)), detail(std::move(detail_)), remedy(std::move(remedy_)) {}

  // One line: "where: detail. remedy". Holds no secret: whoever builds an Error redacts first
  // (base/redact.h).
  std::string text() const;

  bool operator==(const Error&) const = default;
};

// A T or an Error. T may be void: Result<void> is made by `Result<void>{}` or `ok()`.
// Asking the wrong side is a bug and asserts.
template <class T>
class [[nodiscard]] Result {
 public:
  Result(T value) : held_(std::in_place_index<0>, std::move(value)) {}  // NOLINT(google-explicit-constructor)
  Result(Error error)
      : held_(std::in_place_index<1>, std::move(error)) {}  // NOLINT(google-explicit-constructor)

  bool has_value() const { return held_.index() == 0; }
  explicit operator bool() const { return has_value(); }

  T& value() & {
    assert(has_value());
    return std::get<0>(held_);
  }
  const T& value() const& {
    assert(has_value());
    return std::get<0>(held_);
  }
  T&& value() && {
    assert(has_value());
    return std::get<0>(std::move(held_));
  }
  T& operator*() & { return value(); }
  const T& operator*() const& { return value(); }
  T&& operator*() && { return std::move(*this).value(); }
  T* operator->() { return &value(); }
  const T* operator->() const { return &value(); }

  const Error& error() const& {
    assert(!has_value());
    return std::get<1>(held_);
  }
  Error&& error() && {
    assert(!has_value());
    return std::get<1>(std::move(held_));
  }

  T value_or(T other) && { return has_value() ? std::get<0>(std::move(held_)) : std::move(other); }

 private:
  std::variant<T, Error> held_;
};

template <>
class [[nodiscard]] Result<void> {
 public:
  Result() = default;
  Result(Error error) : error_(std::move(error)), failed_(true) {}  // NOLINT(google-explicit-constructor)

  bool has_value() const { return !failed_; }
  explicit operator bool() const { return has_value(); }
  const Error& error() const& {
    assert(failed_);
    return error_;
  }
  Error&& error() && {
    assert(failed_);
    return std::move(error_);
  }

 private:
  Error error_;
  bool failed_ = false;
};

inline Result<void> ok() { return {}; }

}  // namespace rookery::base
