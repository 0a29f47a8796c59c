#include "net/tcp_vitals.h"

#include <linux/tcp.h>
#include <netinet/in.h>
#include <sys/socket.h>

#include <cstddef>

namespace rookery::net {

std::optional<TcpVitals> read_tcp_vitals(int socket) {
  tcp_info info{};
  socklen_t size = sizeof info;
  if (::getsockopt(socket, IPPROTO_TCP, TCP_INFO, &info, &size) != 0 ||
      size < offsetof(tcp_info, tcpi_rcv_ooopack) + sizeof info.tcpi_rcv_ooopack) {
    return std::nullopt;
  }
  constexpr std::uint32_t kUnknown = 0xFFFFFFFF;
  TcpVitals out;
  out.round_trip = std::chrono::microseconds(info.tcpi_rtt);
  if (info.tcpi_min_rtt != kUnknown) out.least_round_trip = std::chrono::microseconds(info.tcpi_min_rtt);
  out.receive_round_trip = std::chrono::microseconds(info.tcpi_rcv_rtt);
  out.since_last_data = std::chrono::milliseconds(info.tcpi_last_data_recv);
  out.retransmitted = info.tcpi_total_retrans;
  out.segments_in = info.tcpi_data_segs_in;
  out.out_of_order_in = info.tcpi_rcv_ooopack;
  out.bytes_in = info.tcpi_bytes_received;
  return out;
}

}  // namespace rookery::net
