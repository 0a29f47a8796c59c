// fetch_endpoints: looks a host name up without holding anyone else up.
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include <boost/asio/awaitable.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/steady_timer.hpp>

#include "base/result.h"

namespace rookery::net {

// The addresses of `host` (IPv4 and IPv6, in the order of the system's preference); an IP address is returned
// as it is, without asking anyone. Runs on a few threads of the execution context, since a name that nobody
// answers for blocks for seconds and must not delay the look-up of the next camera. Errors: unreachable (no
// such name), timed_out after `limit`.
boost::asio::awaitable<base::Result<std::vector<boost::asio::ip::tcp::endpoint>>> fetch_endpoints(
    std::string host, std::uint16_t port, std::chrono::steady_clock::duration limit,
    std::shared_ptr<boost::asio::steady_timer> bell);

// How names are looked up: fetch_endpoints, or in tests whatever makes a name come and go.
using LookUp =
    std::function<boost::asio::awaitable<base::Result<std::vector<boost::asio::ip::tcp::endpoint>>>(
        std::string host, std::uint16_t port, std::chrono::steady_clock::duration limit,
        std::shared_ptr<boost::asio::steady_timer> bell)>;

}  // namespace rookery::net
