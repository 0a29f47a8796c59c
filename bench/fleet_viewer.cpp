// Watches one or more motion-JPEG streams and tells how long pictures were on their way, for benchmarks.
//
//   fleet_viewer SECONDS PORT TARGET…      (targets like /live/c1.mjpeg?token=…)
//
// Prints one JSON object: {"frames":…, "p50_ms":…, "p99_ms":…, "most_ms":…}.
#include <boost/asio.hpp>

#include <chrono>
#include <cstdlib>
#include <iostream>

#include <fmt/format.h>

#include "bench/stamp.h"
#include "proto/multipart.h"

namespace {

namespace asio = boost::asio;
using asio::ip::tcp;

struct Delays {
  std::vector<double> ms;
};

asio::awaitable<void> watch(std::uint16_t port, std::string target, Delays& delays) {
  tcp::socket socket(co_await asio::this_coro::executor);
  co_await socket.async_connect(tcp::endpoint(asio::ip::address_v4::loopback(), port), asio::use_awaitable);
  const std::string request = fmt::format("GET {} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\n\r\n", target, port);
  co_await asio::async_write(socket, asio::buffer(request), asio::use_awaitable);
  std::string head;
  const std::size_t head_size =
      co_await asio::async_read_until(socket, asio::dynamic_buffer(head), "\r\n\r\n", asio::use_awaitable);
  if (head.find(" 200 ") == std::string::npos) {
    std::cerr << head.substr(0, head.find('\r')) << '\n';
    co_return;
  }
  const std::size_t at = head.find("boundary=") + 9;
  std::string boundary = head.substr(at, head.find('\r', at) - at);
  rookery::proto::MultipartReader reader(boundary);
  const std::string rest = head.substr(head_size);
  reader.push(std::as_bytes(std::span(rest)));
  std::vector<std::byte> buffer(256 * 1024);
  bool first = true;  // the newest frame at the time of joining is as old as it is
  for (;;) {
    const std::size_t got = co_await socket.async_read_some(asio::buffer(buffer), asio::use_awaitable);
    reader.push(std::span(buffer).first(got));
    const auto now = std::chrono::steady_clock::now();
    while (auto event = reader.next()) {
      const auto* part = std::get_if<rookery::proto::Part>(&*event);
      if (part == nullptr) continue;
      const auto sent = rookery::bench::read_stamp(part->body);
      if (sent && !first) delays.ms.push_back(std::chrono::duration<double, std::milli>(now - *sent).count());
      first = false;
    }
  }
}

double percentile(std::vector<double>& sorted, double share) {
  return sorted.empty() ? 0
                        : sorted[static_cast<std::size_t>(share * static_cast<double>(sorted.size() - 1))];
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 4) {
    std::cerr << "fleet_viewer SECONDS PORT TARGET…\n";
    return 2;
  }
  asio::io_context io;
  Delays delays;
  for (int i = 3; i < argc; ++i) {
    asio::co_spawn(io, watch(static_cast<std::uint16_t>(std::atoi(argv[2])), argv[i], delays),
                   [](const std::exception_ptr& failed) {
                     if (failed) std::cerr << "a stream ended\n";
                   });
  }
  io.run_for(std::chrono::milliseconds(static_cast<int>(std::atof(argv[1]) * 1000)));
  std::sort(delays.ms.begin(), delays.ms.end());
  std::cout << fmt::format("{{\"frames\":{},\"p50_ms\":{:.3f},\"p99_ms\":{:.3f},\"most_ms\":{:.3f}}}\n",
                           delays.ms.size(), percentile(delays.ms, 0.5), percentile(delays.ms, 0.99),
                           percentile(delays.ms, 1));
  return delays.ms.empty() ? 3 : 0;
}
