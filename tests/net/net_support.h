// Runs a coroutine on a context of its own until it is done.
#pragma once

#include <exception>
#include <functional>
#include <optional>

#include <boost/asio.hpp>

namespace rookery::net::test {

// The value of the coroutine that `make` starts; what it throws is passed on.
template <class T>
T run(boost::asio::io_context& context, boost::asio::awaitable<T> coroutine) {
  std::optional<T> value;
  std::exception_ptr error;
  boost::asio::co_spawn(context, std::move(coroutine), [&](std::exception_ptr e, T v) {
    error = e;
    value.emplace(std::move(v));
  });
  context.restart();
  while (!value) {
    if (context.run_one() == 0) throw std::logic_error("the coroutine waits for nothing");
  }
  if (error) std::rethrow_exception(error);
  return std::move(*value);
}

}  // namespace rookery::net::test
