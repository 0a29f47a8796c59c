#include "camera/gap_probe.h"

#include <netinet/in.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>

#include <boost/asio.hpp>

#include "net/deadline.h"

namespace rookery::camera {

namespace asio = boost::asio;
using asio::ip::tcp;
using boost::system::error_code;
using Datagrams = asio::generic::datagram_protocol;

namespace {

base::Microseconds since(std::chrono::steady_clock::time_point began) {
  return std::chrono::duration_cast<base::Microseconds>(std::chrono::steady_clock::now() - began);
}

// Lent: the caller holds the socket, and awaits this to its end.
asio::awaitable<error_code> connect_to(tcp::socket* socket, tcp::endpoint to) {
  auto connecting = socket->async_connect(to, asio::as_tuple(asio::use_awaitable));
  const std::tuple<error_code> done = co_await std::move(connecting);
  co_return std::get<0>(done);
}

// One echo and its answer. The kernel puts in identifier and checksum, and hands on only what answers this
// socket. Lent: the caller holds the socket, and awaits this to its end.
asio::awaitable<error_code> exchange_echo(Datagrams::socket* socket, bool v6) {
  // Type (8: echo; ICMPv6 128), code, checksum, identifier, number (RFC 792, RFC 4443 §4.1).
  const std::array<unsigned char, 16> request{static_cast<unsigned char>(v6 ? 128 : 8), 0, 0, 0, 0, 0, 0, 1};
  auto sending = socket->async_send(asio::buffer(request), asio::as_tuple(asio::use_awaitable));
  const std::tuple<error_code, std::size_t> sent = co_await std::move(sending);
  if (std::get<0>(sent)) co_return std::get<0>(sent);
  std::array<unsigned char, 128> answer{};
  auto receiving = socket->async_receive(asio::buffer(answer), asio::as_tuple(asio::use_awaitable));
  const std::tuple<error_code, std::size_t> got = co_await std::move(receiving);
  co_return std::get<0>(got);
}

}  // namespace

asio::awaitable<ProbeResult> probe_connect(tcp::endpoint to) {
  ProbeResult out;
  const auto began = std::chrono::steady_clock::now();
  tcp::socket socket(co_await asio::this_coro::executor);
  auto connecting = connect_to(&socket, to);
  auto limited = net::with_deadline(std::move(connecting), kConnectWaits);
  const std::optional<error_code> done = co_await std::move(limited);
  out.took = since(began);
  if (done && !*done) out.answer = ProbeAnswer::answered;
  if (done && *done == asio::error::connection_refused) out.answer = ProbeAnswer::refused;
  error_code ignored;
  socket.close(ignored);
  co_return out;
}

asio::awaitable<ProbeResult> probe_echo(asio::ip::address to) {
  ProbeResult out;
  const auto began = std::chrono::steady_clock::now();
  const int family = to.is_v6() ? AF_INET6 : AF_INET;
  const int protocol = to.is_v6() ? static_cast<int>(IPPROTO_ICMPV6) : static_cast<int>(IPPROTO_ICMP);
  const int fd = ::socket(family, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, protocol);
  if (fd < 0) {
    out.answer = ProbeAnswer::not_allowed;
    co_return out;
  }
  Datagrams::socket socket(co_await asio::this_coro::executor);
  error_code failed;
  socket.assign(Datagrams(family, protocol), fd, failed);
  if (failed) {
    ::close(fd);
    co_return out;
  }
  const asio::ip::udp::endpoint end(to, 0);
  socket.connect(Datagrams::endpoint(end), failed);
  if (failed) co_return out;
  auto exchanging = exchange_echo(&socket, to.is_v6());
  auto limited = net::with_deadline(std::move(exchanging), kEchoWaits);
  const std::optional<error_code> done = co_await std::move(limited);
  out.took = since(began);
  if (done && !*done) out.answer = ProbeAnswer::answered;
  co_return out;
}

}  // namespace rookery::camera
