#include "net/claim_listener.h"

#include <array>

#include <boost/asio.hpp>

#include "base/log.h"
#include "net/deadline.h"
#include "net/sweep.h"
#include "proto/name_claim.h"

namespace rookery::net {
namespace asio = boost::asio;
using asio::ip::udp;
using boost::system::error_code;

namespace {

constexpr std::chrono::seconds kJoinAgain{60};  // networks come and go; chosen

struct Packet {
  std::array<std::byte, 9000> bytes;  // RFC 6762 §17: none is larger
  std::size_t size = 0;
  udp::endpoint from;
};

// Bound to the group's address: what is sent to this computer alone is for others that share the port.
error_code open(udp::socket& socket, const udp::endpoint& group) {
  error_code failed;
  socket.open(group.protocol(), failed);
  if (!failed) socket.set_option(udp::socket::reuse_address(true), failed);
  if (!failed) socket.bind(group, failed);
  return failed;
}

void join(udp::socket& socket, const ClaimPlace& place) {
  std::vector<asio::ip::address_v4> own = place.own;
  if (own.empty()) {
    if (const auto prefixes = local_prefixes()) {
      for (const LocalPrefix& prefix : *prefixes) own.push_back(prefix.own);
    }
  }
  for (const asio::ip::address_v4& address : own) {
    // Once joined it fails: that is the usual case.
    error_code ignored;
    socket.set_option(asio::ip::multicast::join_group(place.group.address().to_v4(), address), ignored);
  }
}

// Lent: the caller holds both, and awaits this to its end.
asio::awaitable<error_code> receive(udp::socket* socket, Packet* packet) {
  auto receiving = socket->async_receive_from(asio::buffer(packet->bytes), packet->from,
                                              asio::as_tuple(asio::use_awaitable));
  const std::tuple<error_code, std::size_t> got = co_await std::move(receiving);
  packet->size = std::get<1>(got);
  co_return std::get<0>(got);
}

}  // namespace

asio::awaitable<void> hear_claims(ClaimPlace place, OnClaim heard) {
  udp::socket socket(co_await asio::this_coro::executor);
  if (const error_code failed = open(socket, place.group)) {
    base::log_info("mdns", "boards that start are not heard: port {}: {}", place.group.port(),
                   failed.message());
    co_return;
  }
  const auto packet = std::make_unique<Packet>();
  for (;;) {
    join(socket, place);
    const auto until = std::chrono::steady_clock::now() + kJoinAgain;
    for (auto now = std::chrono::steady_clock::now(); now < until; now = std::chrono::steady_clock::now()) {
      auto receiving = receive(&socket, packet.get());
      auto limited = with_deadline(std::move(receiving), until - now);
      const std::optional<error_code> done = co_await std::move(limited);
      if (!done) break;
      if (*done) throw boost::system::system_error(*done);
      const auto names = proto::claimed_names(std::span(packet->bytes).first(packet->size));
      if (!names.empty()) heard(names, packet->from.address());
    }
  }
}

}  // namespace rookery::net
