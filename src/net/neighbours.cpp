#include "net/neighbours.h"

#include <linux/neighbour.h>
#include <linux/rtnetlink.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>

#include <fmt/format.h>
#include <boost/asio/ip/udp.hpp>

namespace rookery::net {
namespace asio = boost::asio;

namespace {

int hex_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

// A T at the front of `bytes`, copied: nothing there is aligned for sure.
template <class T>
std::optional<T> front(std::span<const std::byte> bytes) {
  if (bytes.size() < sizeof(T)) return std::nullopt;
  T out;
  std::memcpy(&out, bytes.data(), sizeof(T));
  return out;
}

std::size_t aligned(std::size_t length) { return (length + 3) & ~std::size_t{3}; }  // netlink(7): 4 bytes

std::optional<asio::ip::address> address_in(int family, std::span<const std::byte> bytes) {
  if (family == AF_INET) {
    const auto four = front<asio::ip::address_v4::bytes_type>(bytes);
    if (four && bytes.size() == 4) return asio::ip::address_v4(*four);
  } else if (family == AF_INET6) {
    const auto sixteen = front<asio::ip::address_v6::bytes_type>(bytes);
    if (sixteen && bytes.size() == 16) return asio::ip::address_v6(*sixteen);
  }
  return std::nullopt;
}

// One RTM_NEWNEIGH message behind its header.
std::optional<Neighbour> neighbour_in(std::span<const std::byte> message) {
  const auto entry = front<ndmsg>(message);
  if (!entry || (entry->ndm_state & (NUD_INCOMPLETE | NUD_FAILED | NUD_NOARP)) != 0) return std::nullopt;
  message = message.subspan(std::min(aligned(sizeof(ndmsg)), message.size()));
  std::optional<asio::ip::address> address;
  std::optional<std::array<std::uint8_t, 6>> hardware;
  while (const auto attribute = front<rtattr>(message)) {
    const std::size_t length = attribute->rta_len;
    if (length < sizeof(rtattr) || length > message.size()) break;
    const auto value = message.subspan(sizeof(rtattr), length - sizeof(rtattr));
    if (attribute->rta_type == NDA_DST) address = address_in(entry->ndm_family, value);
    if (attribute->rta_type == NDA_LLADDR && value.size() == 6)
      hardware = front<std::array<std::uint8_t, 6>>(value);
    message = message.subspan(std::min(aligned(length), message.size()));
  }
  if (!address || !hardware || *hardware == std::array<std::uint8_t, 6>{}) return std::nullopt;
  return Neighbour{*address, HardwareAddress(*hardware)};
}

struct Socket {
  explicit Socket(int fd_) : fd(fd_) {}
  ~Socket() {
    if (fd >= 0) ::close(fd);
  }
  Socket(const Socket&) = delete;
  Socket& operator=(const Socket&) = delete;
  const int fd;
};

base::Error failed(const char* what) {
  return {
      base::ErrorCode::io, "neighbour table", fmt::format("{} failed: {}", what, std::strerror(errno)), {}};
}

}  // namespace

std::optional<HardwareAddress> HardwareAddress::parse(std::string_view text) {
  std::array<std::uint8_t, 6> bytes{};
  if (text.size() != 17) return std::nullopt;
  for (std::size_t i = 0; i < bytes.size(); ++i) {
    const int high = hex_digit(text[3 * i]);
    const int low = hex_digit(text[3 * i + 1]);
    if (high < 0 || low < 0 || (i < 5 && text[3 * i + 2] != ':')) return std::nullopt;
    bytes[i] = static_cast<std::uint8_t>(high * 16 + low);
  }
  return HardwareAddress(bytes);
}

std::string HardwareAddress::text() const { return fmt::format("{:02x}", fmt::join(bytes_, ":")); }

std::string HardwareAddress::maker_part() const {
  return fmt::format("{:02x}:{:02x}:{:02x}", bytes_[0], bytes_[1], bytes_[2]);
}

std::vector<Neighbour> parse_neighbours(std::span<const std::byte> answer, bool* done) {
  std::vector<Neighbour> out;
  *done = false;
  while (const auto header = front<nlmsghdr>(answer)) {
    const std::size_t length = header->nlmsg_len;
    if (length < sizeof(nlmsghdr) || length > answer.size()) break;
    if (header->nlmsg_type == NLMSG_DONE || header->nlmsg_type == NLMSG_ERROR) {
      *done = true;
      break;
    }
    if (header->nlmsg_type == RTM_NEWNEIGH) {
      if (auto one = neighbour_in(answer.subspan(sizeof(nlmsghdr), length - sizeof(nlmsghdr))))
        out.push_back(std::move(*one));
    }
    answer = answer.subspan(std::min(aligned(length), answer.size()));
  }
  return out;
}

base::Result<std::vector<Neighbour>> read_neighbours() {
  const Socket socket{::socket(AF_NETLINK, SOCK_RAW | SOCK_CLOEXEC, NETLINK_ROUTE)};
  if (socket.fd < 0) return failed("opening a netlink socket");
  struct {
    nlmsghdr header{};
    ndmsg message{};
  } ask;
  ask.header.nlmsg_len = sizeof(ask);
  ask.header.nlmsg_type = RTM_GETNEIGH;
  ask.header.nlmsg_flags = NLM_F_REQUEST | NLM_F_DUMP;
  if (::send(socket.fd, &ask, sizeof(ask), 0) != static_cast<ssize_t>(sizeof(ask))) return failed("asking");
  const timeval limit{1, 0};  // the kernel answers at once; never hang on it
  ::setsockopt(socket.fd, SOL_SOCKET, SO_RCVTIMEO, &limit, sizeof(limit));
  std::vector<Neighbour> out;
  std::vector<std::byte> buffer(32768);  // what the kernel fills at most at a time (netlink(7), from memory)
  for (bool done = false; !done;) {
    const ssize_t got = ::recv(socket.fd, buffer.data(), buffer.size(), 0);
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) return failed("reading");
    auto some = parse_neighbours(std::span(buffer).first(static_cast<std::size_t>(got)), &done);
    std::ranges::move(some, std::back_inserter(out));
  }
  return out;
}

void nudge(const asio::ip::address& address) {
  constexpr std::uint16_t kDiscard = 9;
  // A plain socket: making and ending an execution context for one datagram takes tens of milliseconds where
  // the kernel is slow to close its poll descriptors.
  const asio::ip::udp::endpoint to(address, kDiscard);
  const Socket socket{::socket(to.protocol().family(), SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0)};
  if (socket.fd >= 0) ::sendto(socket.fd, "", 0, 0, to.data(), static_cast<socklen_t>(to.size()));
}

}  // namespace rookery::net
