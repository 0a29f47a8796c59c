#include "camera/board_register.h"

#include <fmt/format.h>
#include <boost/asio/ip/address.hpp>

namespace rookery::camera {
namespace {

namespace asio = boost::asio;
using base::Error;
using base::ErrorCode;
using base::Result;

asio::ip::address plain(asio::ip::address address) {
  if (address.is_v6() && address.to_v6().is_v4_mapped())
    return asio::ip::make_address_v4(asio::ip::v4_mapped, address.to_v6());
  return address;
}

// An IP address in its one form, a name as it is without the root's dot (RFC 1034 §3.1).
std::string plain_host(std::string host) {
  boost::system::error_code no_address;
  const auto address = asio::ip::make_address(host, no_address);
  if (!no_address) return plain(address).to_string();
  if (host.size() > 1 && host.back() == '.') host.pop_back();
  return host;
}

int hex_digit(char c) {
  if (c >= '0' && c <= '9') return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

bool is_unreserved(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' || c == '.' ||
         c == '_' || c == '~';
}

// RFC 3986 §6.2.2.1 and §6.2.2.2. Boost.URL 1.81 takes "%2F" for "/" as well, which is another path.
std::string plain_encoding(std::string_view path) {
  std::string out;
  for (std::size_t i = 0; i < path.size(); ++i) {
    const bool coded =
        path[i] == '%' && i + 2 < path.size() && hex_digit(path[i + 1]) >= 0 && hex_digit(path[i + 2]) >= 0;
    if (!coded) {
      out += path[i];
      continue;
    }
    const char byte = static_cast<char>(hex_digit(path[i + 1]) * 16 + hex_digit(path[i + 2]));
    out +=
        is_unreserved(byte) ? std::string(1, byte) : fmt::format("%{:02X}", static_cast<unsigned char>(byte));
    i += 2;
  }
  return out;
}

// The path alone, in one form: RFC 3986 §6.2.2, dots removed as in §5.2.4.
std::string plain_path(const net::Address& address) {
  const std::string path = plain_encoding(address.target.substr(0, address.target.find('?')));
  std::vector<std::string> parts;
  std::size_t begin = 1;  // after the first "/"
  while (begin <= path.size()) {
    const std::size_t end = std::min(path.find('/', begin), path.size());
    const std::string part = path.substr(begin, end - begin);
    const bool last = end == path.size();
    if (part == "..") {
      if (!parts.empty()) parts.pop_back();
    } else if (part != ".") {
      parts.push_back(part);
    }
    if (last && (part == "." || part == "..")) parts.emplace_back();
    begin = end + 1;
  }
  return fmt::format("/{}", fmt::join(parts, "/"));
}

std::string joined(const std::string& host, std::uint16_t port, const std::string& path) {
  return host.find(':') == std::string::npos ? fmt::format("{}:{}{}", host, port, path)
                                             : fmt::format("[{}]:{}{}", host, port, path);
}

Error taken_by(const std::string& camera, const std::string& board) {
  return {
      ErrorCode::busy,
      {},
      fmt::format("the camera \"{}\" is connected to this board already ({})", camera, board),
      "Both addresses lead to one board, and a board serves one viewer: remove one of the two cameras, or "
      "correct its address"};
}

}  // namespace

std::optional<std::string> pulled_address(const Settings& settings) {
  switch (settings.source) {
    case Source::stream:
      return settings.stream_address;
    case Source::stills:
      return settings.still_address;
    case Source::pushed:
      break;
  }
  return std::nullopt;
}

Result<std::string> board_key(std::string_view text) {
  const auto address = net::Address::parse(text);
  if (!address) return address.error();
  return joined(plain_host(address->host), address->port, plain_path(*address));
}

BoardRegister::Seat::Seat(std::shared_ptr<BoardRegister> boards, std::string camera)
    : boards_(std::move(boards)), camera_(std::move(camera)) {}

BoardRegister::Seat::~Seat() { leave(); }

// All endpoints of the host are taken, not only the one that will answer: two names of one board may be
// looked up to its IPv4 and its IPv6 address.
Result<void> BoardRegister::Seat::take(const std::vector<asio::ip::tcp::endpoint>& endpoints,
                                       const net::Address& address) {
  if (!boards_) return base::ok();
  const std::string path = plain_path(address);
  std::vector<std::string> wanted;
  for (const auto& endpoint : endpoints)
    wanted.push_back(joined(plain(endpoint.address()).to_string(), endpoint.port(), path));
  // In one go: a camera that asks its board again must not lose it in between.
  const std::lock_guard lock(boards_->mutex_);
  for (const auto& board : wanted) {
    const auto held = boards_->held_.find(board);
    if (held != boards_->held_.end() && held->second.seat != this)
      return taken_by(held->second.camera, board);
  }
  boards_->forget(this);
  for (const auto& board : wanted) boards_->held_.insert_or_assign(board, Holder{this, camera_});
  return base::ok();
}

void BoardRegister::Seat::leave() {
  if (!boards_) return;
  const std::lock_guard lock(boards_->mutex_);
  boards_->forget(this);
}

void BoardRegister::forget(const Seat* seat) {
  std::erase_if(held_, [seat](const auto& entry) { return entry.second.seat == seat; });
}

}  // namespace rookery::camera
