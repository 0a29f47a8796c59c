// Runs a coroutine on a context of its own until it is done.
#pragma once

#include <exception>
#include <functional>
#include <optional>

#include <boost/asio.hpp>

namespace rookery::net::test {

template <class T>
boost::asio::awaitable<void> store(boost::asio::awaitable<T> coroutine, std::optional<T>* into) {
  T value = co_await std::move(coroutine);
  into->emplace(std::move(value));
}

// The value of the coroutine; what it throws is passed on.
template <class T>
T run(boost::asio::io_context& context, boost::asio::awaitable<T> coroutine) {
  std::optional<T> value;
  std::exception_ptr error;
  boost::asio::co_spawn(context, store(std::move(coroutine), &value),
                        [&](std::exception_ptr e) { error = e; });
  context.restart();
  while (!value && !error) {
    if (context.run_one() == 0) throw std::logic_error("the coroutine waits for nothing");
  }
  if (error) std::rethrow_exception(error);
  return std::move(*value);
}

}  // namespace rookery::net::test
