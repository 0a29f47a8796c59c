// Questions to a board that gives no picture: does anything of it answer? One TCP connection that is closed
// at once, and one ICMP echo. Never a second stream: nothing is asked for.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <boost/asio/ip/tcp.hpp>

#include "camera/dropout.h"

namespace rookery::camera {

// How long an answer is waited for. A board answers within 0.1 s, or 1 s with its radio asleep
// (docs/causes.md).
inline constexpr std::chrono::milliseconds kConnectWaits{2000};
inline constexpr std::chrono::milliseconds kEchoWaits{1200};
// A kind of question is put to one board no more often.
inline constexpr std::chrono::milliseconds kProbeEvery{5000};

struct ProbeResult {
  ProbeAnswer answer = ProbeAnswer::nothing;
  base::Microseconds took{};
};

// `answered`: it was accepted, and closed by us; `refused`: nothing listens there.
boost::asio::awaitable<ProbeResult> probe_connect(boost::asio::ip::tcp::endpoint to);
// By the kernel's datagram sockets for ping, which need no rights; `not_allowed` where the computer's
// settings (net.ipv4.ping_group_range) forbid them.
boost::asio::awaitable<ProbeResult> probe_echo(boost::asio::ip::address to);

}  // namespace rookery::camera
