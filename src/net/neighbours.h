// The hardware addresses of boards on the own network, from the system's neighbour table.
#pragma once

#include <array>
#include <compare>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <boost/asio/ip/address.hpp>

#include "base/result.h"

namespace rookery::net {

// Six bytes that a radio carries from its factory. immutable value.
class HardwareAddress {
 public:
  explicit HardwareAddress(std::array<std::uint8_t, 6> bytes) : bytes_(bytes) {}
  // "02:00:5e:00:53:11", in either case. Nothing for any other text.
  static std::optional<HardwareAddress> parse(std::string_view text);

  std::string text() const;  // "02:00:5e:00:53:11"
  // The first three bytes, which registered makers have of their own (IEEE 802: OUI): "02:00:5e".
  std::string maker_part() const;
  // Locally administered (IEEE 802, second bit of the first byte): made up by software, so it names no maker
  // and may change.
  bool is_local() const { return (bytes_[0] & 2) != 0; }
  auto operator<=>(const HardwareAddress&) const = default;

 private:
  std::array<std::uint8_t, 6> bytes_;
};

struct Neighbour {
  boost::asio::ip::address address;  // without a scope
  HardwareAddress hardware;
};

// Takes a netlink answer to RTM_GETNEIGH apart: entries that are whole, hold a six-byte hardware address
// other than zero and were heard from (no failed or incomplete ones). Sets *done when the end of the list
// came.
std::vector<Neighbour> parse_neighbours(std::span<const std::byte> answer, bool* done);

// Asks the kernel; takes well under a millisecond, sends nothing on the network. Errors: io.
base::Result<std::vector<Neighbour>> read_neighbours();

// Makes the kernel learn the hardware address of a neighbour: sends one empty datagram to its discard port
// (9, RFC 863). Nothing waits for an answer.
void nudge(const boost::asio::ip::address& address);

}  // namespace rookery::net
