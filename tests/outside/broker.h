// A real MQTT broker for tests (mosquitto), and its own client to hear what it was told.
#pragma once

#include "tests/outside/notice_peers.h"

namespace rookery::notices::test {

class Broker {
 public:
  std::uint16_t port() const { return static_cast<std::uint16_t>(port_); }
  // Once it listens. more: lines of its configuration.
  std::unique_ptr<Background> start(const std::string& more = "allow_anonymous true\n") const {
    const auto file = folder_.path() / "mosquitto.conf";
    rookery::test::write_file(file, fmt::format("listener {} 127.0.0.1\n{}", port_, more));
    auto started = std::make_unique<Background>(
        std::vector<std::string>{rookery::test::program_named("mosquitto"), "-c", file.string()});
    EXPECT_TRUE(rookery::test::eventually([this] { return listens(); })) << started->err();
    return started;
  }
  // Prints a line a message: 1 where it was retained, the topic, the payload in hex.
  std::unique_ptr<Background> listen(const std::string& topics) const {
    return std::make_unique<Background>(std::vector<std::string>{
        "mosquitto_sub", "-h", "127.0.0.1", "-p", std::to_string(port_), "-t", topics, "-F", "%r %t %x"});
  }

 private:
  bool listens() const {
    boost::asio::io_context io;
    boost::asio::ip::tcp::socket socket(io);
    boost::system::error_code failed;
    socket.connect({boost::asio::ip::address_v4::loopback(), port()}, failed);
    return !failed;
  }
  rookery::test::TempFolder folder_;
  const int port_ = free_port();
};

// Lines of the client until one is `last`.
inline std::vector<std::string> lines_until(Background& client, const std::string& last) {
  std::vector<std::string> lines;
  while (lines.empty() || lines.back() != last) {
    auto line = client.read_line();
    if (!line) {
      ADD_FAILURE() << "no line \"" << last << "\"; " << lines.size() << " others; " << client.err();
      break;
    }
    lines.push_back(std::move(*line));
  }
  return lines;
}
inline std::string hex(std::string_view text) {
  std::string out;
  for (const char c : text) out += fmt::format("{:02x}", static_cast<unsigned char>(c));
  return out;
}

}  // namespace rookery::notices::test
