// BoardList: one entry a board, made of what was announced, swept, asked and read from the neighbour table.
// No I/O, no clock.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <span>
#include <string>
#include <vector>

#include <boost/asio/ip/address.hpp>

#include "camera/ask_board.h"
#include "camera/identity.h"
#include "net/neighbours.h"
#include "net/service_browser.h"

namespace rookery::camera {

// HTTP's own (RFC 9110 §4.2.1), where a board says none.
inline constexpr std::uint16_t kPortUnlessSaid = 80;

// One thing on the network that may be a board. immutable value.
struct FoundBoard {
  std::string key;                 // the same as long as it is the same board
  std::string name;                // announced; else its host name; else empty. As announced: any bytes
  std::string host;                // "bobbin.local"; may be empty
  std::vector<std::string> types;  // "_http._tcp"; empty when only the sweep found it
  std::vector<boost::asio::ip::address> addresses;  // IPv4 first, link-local IPv6 last; may be empty
  std::vector<std::uint16_t> ports;                 // rising
  std::optional<net::HardwareAddress> hardware;
  proto::TxtRecord txt;
  std::optional<BoardAnswers> answers;  // none: not asked
  std::optional<BoardMatch> known;      // the camera that it is
  bool name_twice = false;              // another board announces the same name

  BoardEvidence evidence() const;
};

// strand-bound.
class BoardList {
 public:
  void hear(const net::Service& service);
  void forget(const net::ServiceKey& key);
  // Where a host name leads that was asked for by itself; no addresses: nowhere any more.
  void hear_host(const std::string& host, std::vector<boost::asio::ip::address> addresses);
  void take_swept(const boost::asio::ip::address& address, std::uint16_t port);
  void set_neighbours(std::span<const net::Neighbour> neighbours);
  void take_answers(const boost::asio::ip::address& address, std::uint16_t port, BoardAnswers answers);
  bool empty() const { return services_.empty() && swept_.empty() && hosts_.empty(); }
  // Whether the sweep found something there.
  bool was_swept(const boost::asio::ip::address& address) const;

  // In order of name, then address.
  std::vector<FoundBoard> boards(std::span<const KnownBoard> known) const;

 private:
  struct Place {
    const net::Service* service = nullptr;  // none: from the sweep, or only its host name is known
    std::string host;
    std::vector<boost::asio::ip::address> addresses;
    std::optional<std::uint16_t> port;
    std::optional<net::HardwareAddress> hardware;
  };
  std::vector<Place> places() const;
  std::optional<net::HardwareAddress> hardware_of(const boost::asio::ip::address& address) const;
  void split(const net::Service* service, const net::ServicePlace& place, std::vector<Place>& out) const;

  std::map<net::ServiceKey, net::Service> services_;
  std::map<std::string, std::vector<boost::asio::ip::address>> hosts_;
  std::set<std::pair<boost::asio::ip::address, std::uint16_t>> swept_;
  std::map<boost::asio::ip::address, net::HardwareAddress> hardware_;
  std::map<std::pair<boost::asio::ip::address, std::uint16_t>, BoardAnswers> answers_;
};

// Whether it can stand in an address that a browser or another computer uses: no link-local IPv6.
bool is_usable(const boost::asio::ip::address& address);

}  // namespace rookery::camera
