// with_deadline: an operation that may take so long and no longer. For something that is awaited once (a name
// look-up, one connect); a loop that reads uses one Watchdog (net/watchdog.h) for all its reads.
#pragma once

#include <chrono>
#include <exception>
#include <optional>
#include <type_traits>
#include <utility>
#include <variant>

#include <boost/asio.hpp>
#include <boost/asio/experimental/awaitable_operators.hpp>

namespace rookery::net {

namespace detail {

// What came of an operation, its exception included: `||` would otherwise go on waiting for the timer when
// the operation throws, and report a time-out that was none.
template <class T>
struct Outcome {
  Outcome() = default;
  explicit Outcome(T value_) : value(std::move(value_)) {}
  explicit Outcome(std::exception_ptr error_) : error(std::move(error_)) {}
  std::optional<T> value;
  std::exception_ptr error;
};

template <class T>
boost::asio::awaitable<Outcome<T>> capture(boost::asio::awaitable<T> op) {
  std::exception_ptr error;
  try {
    T value = co_await std::move(op);
    Outcome<T> outcome(std::move(value));
    co_return outcome;
  } catch (...) {
    error = std::current_exception();
  }
  Outcome<T> outcome(error);
  co_return outcome;
}

inline boost::asio::awaitable<std::monostate> with_value(boost::asio::awaitable<void> op) {
  co_await std::move(op);
  co_return std::monostate{};
}

}  // namespace detail

// The value of `op`, or nothing when `limit` passed first; `op` was then cancelled and has ended. What `op`
// throws is passed on. Cancellation from outside throws operation_aborted; it never reads as a time-out.
template <class T>
boost::asio::awaitable<std::optional<T>> with_deadline(boost::asio::awaitable<T> op,
                                                       std::chrono::steady_clock::duration limit) {
  using namespace boost::asio::experimental::awaitable_operators;
  const auto executor = co_await boost::asio::this_coro::executor;
  boost::asio::steady_timer timer(executor, limit);
  auto work = detail::capture<T>(std::move(op));
  auto wait = timer.async_wait(boost::asio::as_tuple(boost::asio::use_awaitable));
  auto both = std::move(work) || std::move(wait);
  auto first = co_await std::move(both);
  const boost::asio::cancellation_state outer = co_await boost::asio::this_coro::cancellation_state;
  if (outer.cancelled() != boost::asio::cancellation_type::none) {
    throw boost::system::system_error(boost::asio::error::operation_aborted);
  }
  if (first.index() == 1) co_return std::nullopt;
  detail::Outcome<T>& outcome = std::get<0>(first);
  if (outcome.error) std::rethrow_exception(outcome.error);
  co_return std::move(outcome.value);
}

// The same for an operation without a value: true when it ended in time.
inline boost::asio::awaitable<bool> with_deadline(boost::asio::awaitable<void> op,
                                                  std::chrono::steady_clock::duration limit) {
  auto valued = detail::with_value(std::move(op));
  auto limited = with_deadline<std::monostate>(std::move(valued), limit);
  const std::optional<std::monostate> ended = co_await std::move(limited);
  co_return ended.has_value();
}

}  // namespace rookery::net
