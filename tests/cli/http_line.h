// A connection to a station's door, for tests that drive the real program.
#pragma once

#include <poll.h>
#include <sys/socket.h>

#include <array>
#include <chrono>
#include <string>

#include <boost/asio.hpp>

namespace rookery::test {

// A connection to the station's door, with a deadline on every read.
class HttpLine {
 public:
  explicit HttpLine(const std::string& address) {
    const auto colon = address.rfind(':');
    socket_.connect({boost::asio::ip::address_v4::loopback(),
                     static_cast<std::uint16_t>(std::stoi(address.substr(colon + 1)))});
    host_ = address.substr(address.find("//") + 2);
  }
  // `head`: request line and fields of its own.
  void send(const std::string& head, const std::string& body) {
    std::string text = head + "Host: " + host_ + "\r\n";
    if (!body.empty()) {
      text += "Origin: http://" + host_ +
              "\r\nContent-Type: application/json\r\nContent-Length: " + std::to_string(body.size()) + "\r\n";
    }
    boost::asio::write(socket_, boost::asio::buffer(text + "\r\n" + body));
  }
  // Up to and with `mark`, or what came before the end or the deadline.
  std::string receive_until(const std::string& mark) {
    std::string out;
    while (!out.ends_with(mark)) {
      char one = 0;
      if (read_some(&one, 1, std::chrono::seconds(30)) <= 0) break;
      out += one;
    }
    return out;
  }
  // Whether the station ends it in that time; what comes before is thrown away.
  bool ends_within(std::chrono::milliseconds limit) {
    const auto until = std::chrono::steady_clock::now() + limit;
    std::array<char, 65536> away;
    for (;;) {
      const auto left =
          std::chrono::duration_cast<std::chrono::milliseconds>(until - std::chrono::steady_clock::now());
      if (left.count() <= 0) return false;
      const auto count = read_some(away.data(), away.size(), left);
      if (count == 0 || (count < 0 && errno != EAGAIN)) return true;
    }
  }

 private:
  ssize_t read_some(char* to, std::size_t most, std::chrono::milliseconds limit) {
    pollfd ready{socket_.native_handle(), POLLIN, 0};
    if (::poll(&ready, 1, static_cast<int>(limit.count())) <= 0) {
      errno = EAGAIN;
      return -1;
    }
    return ::recv(socket_.native_handle(), to, most, 0);
  }

  boost::asio::io_context io_;
  boost::asio::ip::tcp::socket socket_{io_};
  std::string host_;
};

}  // namespace rookery::test
