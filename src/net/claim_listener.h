// Hears boards that start or join the network anew: they make sure of their names by multicast DNS (RFC 6762
// §8.1). It only listens.
#pragma once

#include <chrono>
#include <functional>
#include <string>
#include <vector>

#include <boost/asio/awaitable.hpp>
#include <boost/asio/ip/udp.hpp>

#include "base/result.h"

namespace rookery::net {

// Where claims are said. The default is that of RFC 6762 §3; IPv4 only.
struct ClaimPlace {
  boost::asio::ip::udp::endpoint group{boost::asio::ip::make_address_v4("224.0.0.251"), 5353};
  // The own addresses on whose networks it listens; empty: all that there are, looked for again and again.
  std::vector<boost::asio::ip::address_v4> own;

  ClaimPlace() = default;
  ClaimPlace(boost::asio::ip::udp::endpoint group_, std::vector<boost::asio::ip::address_v4> own_)
      : group(std::move(group_)), own(std::move(own_)) {}
};

// names: lower case, "bobbin.local".
using OnClaim =
    std::function<void(const std::vector<std::string>& names, const boost::asio::ip::address& from)>;

// Goes on until it is cancelled; `heard` is called on the caller's strand. Where the port cannot be shared it
// says so once in the log and returns. Lent: whatever `heard` holds lives until this has ended.
boost::asio::awaitable<void> hear_claims(ClaimPlace place, OnClaim heard);

}  // namespace rookery::net
