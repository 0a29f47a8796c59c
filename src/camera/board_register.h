// BoardRegister: which boards are connected to right now, so that two cameras whose addresses lead to one
// board never open two connections to it. docs/board-connection.md says what makes a board the same.
#pragma once

#include <cstdint>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include <boost/asio/ip/tcp.hpp>

#include "base/result.h"
#include "camera/settings.h"
#include "net/address.h"

namespace rookery::camera {

// The address from which this camera's pictures are pulled; none for a board that pushes.
std::optional<std::string> pulled_address(const Settings& settings);

// What one board's addresses have in common however they are written: host (lower case, no trailing dot, IP
// addresses in one form), port, and path (RFC 3986 §6.2.2). Scheme and query do not count. Looks nothing up.
// Errors: as net::Address::parse.
base::Result<std::string> board_key(std::string_view address);

// any-thread.
class BoardRegister {
 public:
  // One camera's place in it; it holds at most one board. strand-bound to its pull.
  class Seat {
   public:
    // `boards` may be null: then every board is free.
    Seat(std::shared_ptr<BoardRegister> boards, std::string camera);
    ~Seat();  // leave()
    Seat(const Seat&) = delete;
    Seat& operator=(const Seat&) = delete;

    // Before a request to `address`, whose host has these endpoints: takes the board, and gives back the one
    // it had. Errors: busy, naming the camera that has it; then the seat keeps what it had.
    base::Result<void> take(const std::vector<boost::asio::ip::tcp::endpoint>& endpoints,
                            const net::Address& address);
    // After the connection was closed.
    void leave();

   private:
    const std::shared_ptr<BoardRegister> boards_;
    const std::string camera_;
  };

 private:
  void forget(const Seat* seat);

  std::mutex mutex_;
  struct Holder {
    const Seat* seat;
    std::string camera;
  };
  std::unordered_map<std::string, Holder> held_;  // by "ADDRESS:PORT/PATH"
};

}  // namespace rookery::camera
