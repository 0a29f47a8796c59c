// run_on: a coroutine's way to have blocking work done by a thread pool.
#pragma once

#include <exception>
#include <memory>
#include <optional>
#include <type_traits>

#include <boost/asio/associated_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/dispatch.hpp>
#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/thread_pool.hpp>
#include <boost/asio/use_awaitable.hpp>

namespace rookery::web {

// Runs `work` on `pool` and comes back to the coroutine's own executor with what it returned or threw. Not to
// be cancelled: what `work` refers to in the coroutine's frame stays valid until it has ended.
// Lent: the pool is the station's, which ends after all connections (Server::stop waits for them).
template <class Work>
boost::asio::awaitable<std::invoke_result_t<Work&>> run_on(boost::asio::thread_pool& pool, Work work) {
  namespace asio = boost::asio;
  using Value = std::invoke_result_t<Work&>;
  // The outcome waits here, not in the handler: a handler's arguments must be default constructible.
  std::optional<Value> value;
  std::exception_ptr thrown;
  auto initiate = [&pool, &work, &value, &thrown](auto handler) {
    auto guard = asio::make_work_guard(asio::get_associated_executor(handler));
    auto job = [&work, &value, &thrown, handler = std::move(handler), guard = std::move(guard)]() mutable {
      try {
        value.emplace(work());
      } catch (...) {
        thrown = std::current_exception();
      }
      auto executor = guard.get_executor();
      asio::dispatch(executor, std::move(handler));
    };
    asio::post(pool, std::move(job));
  };
  auto working = asio::async_initiate<const asio::use_awaitable_t<>, void()>(initiate, asio::use_awaitable);
  co_await std::move(working);
  if (thrown) std::rethrow_exception(thrown);
  co_return std::move(*value);
}

}  // namespace rookery::web
