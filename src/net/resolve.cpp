#include "net/resolve.h"

#include <memory>
#include <tuple>

#include <fmt/format.h>
#include <boost/asio.hpp>

namespace rookery::net {

namespace asio = boost::asio;
using asio::ip::tcp;
using base::Error;
using base::ErrorCode;
using boost::system::error_code;
using Endpoints = std::vector<tcp::endpoint>;

namespace {

// Asio's own resolver has one thread a context, so one dead name would hold up all others. This service has a
// few; it joins them when the context shuts down, so none of them ever sees a dead context.
class Resolvers final : public asio::execution_context::service {
 public:
  using key_type = Resolvers;
  static constexpr int kThreads = 4;
  static asio::execution_context::id id;

  explicit Resolvers(asio::execution_context& context) : service(context) {}

  asio::thread_pool& pool() { return pool_; }

 private:
  void shutdown() override {
    pool_.stop();
    pool_.join();
  }
  asio::thread_pool pool_{kThreads};
};

asio::execution_context::id Resolvers::id;

struct Lookup {
  explicit Lookup(std::shared_ptr<asio::steady_timer> bell_) : bell(std::move(bell_)) {}
  std::shared_ptr<asio::steady_timer> bell;  // strand-bound, as the rest
  error_code error;
  Endpoints found;
  bool done = false;
};

Error no_such_host(const std::string& host, const error_code& error) {
  return {ErrorCode::unreachable, fmt::format("looking up {}", host),
          fmt::format("no address is known for the name \"{}\" ({})", host, error.message()),
          "Check the spelling; try the board's IP address instead of its name"};
}

}  // namespace

asio::awaitable<base::Result<Endpoints>> fetch_endpoints(std::string host, std::uint16_t port,
                                                         std::chrono::steady_clock::duration limit,
                                                         std::shared_ptr<asio::steady_timer> bell) {
  error_code error;
  if (const auto literal = asio::ip::make_address(host, error); !error) {
    Endpoints one{tcp::endpoint(literal, port)};
    co_return one;
  }
  const asio::any_io_executor executor = co_await asio::this_coro::executor;
  auto lookup = std::make_shared<Lookup>(std::move(bell));
  lookup->bell->expires_after(limit);
  auto& pool = asio::use_service<Resolvers>(asio::query(executor, asio::execution::context)).pool();
  auto work = [lookup, executor, host, port, &pool] {
    error_code failed;
    Endpoints found;
    tcp::resolver resolver(pool);
    for (const auto& entry :
         resolver.resolve(host, std::to_string(port), tcp::resolver::numeric_service, failed)) {
      found.push_back(entry.endpoint());
    }
    asio::post(executor, [lookup, failed, found = std::move(found)]() mutable {
      lookup->error = failed;
      lookup->found = std::move(found);
      lookup->done = true;
      lookup->bell->cancel();
    });
  };
  asio::post(pool, std::move(work));
  if (!lookup->done) {
    auto ring = lookup->bell->async_wait(asio::as_tuple(asio::use_awaitable));
    static_cast<void>(co_await std::move(ring));
  }
  const asio::cancellation_state cancellation = co_await asio::this_coro::cancellation_state;
  if (cancellation.cancelled() != asio::cancellation_type::none) {
    throw boost::system::system_error(asio::error::operation_aborted);
  }
  if (!lookup->done) {
    co_return Error(ErrorCode::timed_out, fmt::format("looking up {}", host),
                    fmt::format("nobody answered for the name \"{}\"", host),
                    "Is the board on this network? Try its IP address instead of its name");
  }
  if (lookup->error || lookup->found.empty()) co_return no_such_host(host, lookup->error);
  co_return std::move(lookup->found);
}

}  // namespace rookery::net
