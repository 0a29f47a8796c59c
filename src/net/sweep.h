// Sweep: knocks at every address of the own IPv4 networks, slowly, for boards that announce nothing.
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include <boost/asio/awaitable.hpp>
#include <boost/asio/ip/address_v4.hpp>

#include "base/result.h"

namespace rookery::net {

// One IPv4 network that an interface of this computer is on.
struct LocalPrefix {
  std::string interface;
  boost::asio::ip::address_v4 own;
  int length = 32;
  std::string text() const;  // "192.0.2.0/24"
};

// Those of interfaces that are up, but for loopback and point-to-point links. Errors: io.
base::Result<std::vector<LocalPrefix>> local_prefixes();

// The shortest prefix that is swept: 1022 addresses.
inline constexpr int kShortestSwept = 22;

struct SweepPlan {
  std::vector<LocalPrefix> prefixes;                 // that are swept
  std::vector<LocalPrefix> too_large;                // that are not
  std::vector<boost::asio::ip::address_v4> targets;  // each once; without own, network and broadcast address
  std::vector<std::uint16_t> ports;                  // each one knocked at where those before it are refused
  // "knocks at 254 addresses (192.0.2.0/24 on wlan0) on TCP port 80, else 8080, at most 100 a second; about 5
  // s"
  std::string text() const;
};
// `ports`: at least one.
SweepPlan plan_sweep(const std::vector<LocalPrefix>& prefixes, std::vector<std::uint16_t> ports);

struct SweepPace {
  std::chrono::milliseconds between{10};  // two knocks; common practice, no source
  std::chrono::milliseconds limit{1000};  // of one knock
  std::size_t at_once_most = 64;          // well below the descriptors that a process has (1024 usually)
};

// Knocks (a TCP connection that is closed at once) at all targets of the plan; `on_open` hears of each that
// takes it, on the coroutine's strand. Ends when all were asked, or by cancellation.
boost::asio::awaitable<void> sweep(SweepPlan plan, SweepPace pace,
                                   std::function<void(boost::asio::ip::address_v4, std::uint16_t)> on_open);

}  // namespace rookery::net
