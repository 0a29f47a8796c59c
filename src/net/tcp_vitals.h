// What the kernel knows of one TCP connection, seen from the side that receives.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>

namespace rookery::net {

// Of this connection since it was made. A board is the sender: what it sends again, only the board knows;
// what came out of order here tells of it.
struct TcpVitals {
  std::chrono::microseconds round_trip{};  // smoothed (RFC 6298), from what we sent: hand-shake and request
  std::chrono::microseconds least_round_trip{};    // 0 when not known
  std::chrono::microseconds receive_round_trip{};  // the kernel's guess from what comes in; 0 when not known
  std::chrono::milliseconds since_last_data{};
  std::uint32_t retransmitted = 0;    // segments that we sent again
  std::uint32_t segments_in = 0;      // with data
  std::uint32_t out_of_order_in = 0;  // of those: lost or overtaken on their way
  std::uint64_t bytes_in = 0;
};

// socket: a connected TCP socket. Nothing when the kernel does not tell (before Linux 5.4).
std::optional<TcpVitals> read_tcp_vitals(int socket);

}  // namespace rookery::net
