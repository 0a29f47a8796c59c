// A serial port of this computer, held for itself and read without touching the board behind it.
#pragma once

#include <chrono>
#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>

#include "base/result.h"
#include "proto/serial_rate.h"

namespace rookery::net {

// What stands in /dev that may be a serial adapter: by its lasting name where it has one, then the short
// names.
std::vector<std::string> serial_ports();

// strand-bound. 8 data bits, no parity, one stop bit, no handshake. Its control lines DTR and RTS are let go
// at once, since boards with a reset circuit take them for reset and programming mode; they stay so when it
// closes.
class SerialPort {
 public:
  // Errors, each with what to do: not_found (with the ports that there are), no_permission (with the group
  // that may), busy (another program holds it), unsupported (not a serial port, or it has not this rate), io.
  static base::Result<SerialPort> open(const boost::asio::any_io_executor& executor,
                                       const std::filesystem::path& path, proto::Baud rate);

  // Changes the rate, and drops what came in at the old one. Any rate that the hardware can do, 74880 too.
  // Errors: unsupported, io, closed.
  base::Result<void> set_rate(proto::Baud rate);

  // Some bytes, at least one; none when `limit` passed first. Errors: closed when the port is gone (its cable
  // was pulled), io. Lent: `into` by whoever awaits it to its end.
  boost::asio::awaitable<base::Result<std::optional<std::size_t>>> read_some(
      std::span<char> into, std::chrono::steady_clock::duration limit);

 private:
  SerialPort(const boost::asio::any_io_executor& executor, int descriptor, std::string name)
      : stream_(executor, descriptor), name_(std::move(name)) {}

  boost::asio::posix::stream_descriptor stream_;
  std::string name_;
};

}  // namespace rookery::net
