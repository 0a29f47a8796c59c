// Reads from a server over many connections and counts the bytes, for benchmarks. Plain epoll, so that the
// reader costs little beside the server that is measured.
//
//   relay_load PORT CONNECTIONS SECONDS stream|RATE TARGET
//
// "stream": one request a connection, then read for ever. RATE: one keep-alive request after another on each
// connection, at most RATE a second on each. Prints "settled" when all are connected and a second has passed,
// then {"bytes":…, "seconds":…}.
#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <sys/epoll.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <unistd.h>

#include <chrono>
#include <cstdlib>
#include <iostream>
#include <string>
#include <vector>

#include <fmt/format.h>

namespace {

using Clock = std::chrono::steady_clock;

struct Connection {
  int fd = -1;
  std::size_t left = 0;  // of the answer under way, once its length is known
  std::string head;      // while the head is read
  bool asked = false;
  Clock::time_point next;  // when the next request is due
};

struct Load {
  std::string request;
  bool stream = false;
  std::chrono::nanoseconds period{};
  std::vector<Connection> connections;
  std::vector<char> buffer = std::vector<char>(1 << 20);
  std::uint64_t bytes = 0;
};

int connect_to(std::uint16_t port) {
  const int fd = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(port);
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  if (::connect(fd, reinterpret_cast<sockaddr*>(&address), sizeof address) != 0) return -1;
  const int on = 1;
  ::setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
  ::fcntl(fd, F_SETFL, O_NONBLOCK);
  return fd;
}

void ask(Load& load, Connection& connection) {
  if (::write(connection.fd, load.request.data(), load.request.size()) !=
      static_cast<ssize_t>(load.request.size()))
    std::exit(3);
  connection.asked = true;
  connection.head.clear();
  connection.left = 0;
}

// Takes bytes of a keep-alive answer; true when it is whole.
bool take_answer(Connection& connection, const char* data, std::size_t size) {
  if (connection.left == 0) {
    connection.head.append(data, size);
    const std::size_t end = connection.head.find("\r\n\r\n");
    if (end == std::string::npos) return false;
    const std::size_t at = connection.head.find("Content-Length: ");
    const std::size_t length = std::strtoul(connection.head.c_str() + at + 16, nullptr, 10);
    const std::size_t have = connection.head.size() - end - 4;
    connection.left = length - have;
    return connection.left == 0;
  }
  connection.left -= size;
  return connection.left == 0;
}

void on_readable(Load& load, Connection& connection) {
  const ssize_t got = ::read(connection.fd, load.buffer.data(), load.buffer.size());
  if (got <= 0) {
    if (got < 0 && errno == EAGAIN) return;
    std::cerr << "the server closed a connection\n";
    std::exit(3);
  }
  load.bytes += static_cast<std::uint64_t>(got);
  if (load.stream || !take_answer(connection, load.buffer.data(), static_cast<std::size_t>(got))) return;
  connection.asked = false;
}

// Sends the requests that are due; returns how long until the next one, at most 5 ms.
int ask_those_due(Load& load) {
  if (load.stream) return 100;
  const auto now = Clock::now();
  for (Connection& connection : load.connections) {
    if (connection.asked || connection.next > now) continue;
    connection.next = std::max(connection.next + load.period, now - load.period);
    ask(load, connection);
  }
  return 2;
}

void run_until(Load& load, int epoll, Clock::time_point end) {
  std::vector<epoll_event> events(1024);
  while (Clock::now() < end) {
    const int wait_ms = ask_those_due(load);
    const int ready = ::epoll_wait(epoll, events.data(), static_cast<int>(events.size()), wait_ms);
    for (int i = 0; i < ready; ++i)
      on_readable(load, load.connections[events[static_cast<std::size_t>(i)].data.u32]);
  }
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 6) {
    std::cerr << "relay_load PORT CONNECTIONS SECONDS stream|RATE TARGET\n";
    return 2;
  }
  rlimit files{16384, 16384};
  ::setrlimit(RLIMIT_NOFILE, &files);
  const auto port = static_cast<std::uint16_t>(std::atoi(argv[1]));
  const double seconds = std::atof(argv[3]);
  Load load;
  load.stream = std::string(argv[4]) == "stream";
  if (!load.stream)
    load.period = std::chrono::nanoseconds(static_cast<std::int64_t>(1e9 / std::atof(argv[4])));
  load.request = fmt::format("GET {} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\n\r\n", argv[5], port);
  load.connections.resize(static_cast<std::size_t>(std::atoi(argv[2])));

  const int epoll = ::epoll_create1(EPOLL_CLOEXEC);
  const auto begin = Clock::now();
  for (std::size_t i = 0; i < load.connections.size(); ++i) {
    Connection& connection = load.connections[i];
    connection.fd = connect_to(port);
    if (connection.fd < 0) {
      std::cerr << "cannot connect\n";
      return 3;
    }
    // Spread over one period, as independent viewers are.
    connection.next = begin + load.period * static_cast<std::int64_t>(i) /
                                  static_cast<std::int64_t>(load.connections.size());
    epoll_event event{};
    event.events = EPOLLIN;
    event.data.u32 = static_cast<std::uint32_t>(i);
    ::epoll_ctl(epoll, EPOLL_CTL_ADD, connection.fd, &event);
    if (load.stream) ask(load, connection);
  }
  run_until(load, epoll, Clock::now() + std::chrono::seconds(1));
  std::cout << "settled" << std::endl;
  load.bytes = 0;
  const auto measured = Clock::now();
  run_until(load, epoll, measured + std::chrono::nanoseconds(static_cast<std::int64_t>(seconds * 1e9)));
  const double took = std::chrono::duration<double>(Clock::now() - measured).count();
  std::cout << fmt::format("{{\"bytes\":{},\"seconds\":{:.3f}}}", load.bytes, took) << std::endl;
  return 0;
}
