#include "cli/serving.h"

#include <sys/resource.h>

#include <charconv>
#include <csignal>
#include <thread>

#include <fmt/format.h>
#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/signal_set.hpp>

#include "base/log.h"
#include "web/server.h"

namespace rookery::cli {
namespace {

namespace asio = boost::asio;

// Runs the I/O context on one thread for as long as it lives. One, because Asio wakes a second thread for
// every event that a first one takes, and pictures only pass through (docs/decisions/0016-one-io-thread.md).
class IoThread {
 public:
  explicit IoThread(asio::io_context& io) : work_(io.get_executor()), thread_([&io] { io.run(); }) {}
  ~IoThread() {
    work_.reset();
    thread_.join();
  }
  IoThread(const IoThread&) = delete;
  IoThread& operator=(const IoThread&) = delete;

 private:
  asio::executor_work_guard<asio::io_context::executor_type> work_;
  std::thread thread_;
};

// Debian starts programs with 1024 file descriptors though it allows many more. Takes what is allowed, up to
// what 100 cameras and 4096 viewers can use; returns how many there are now.
std::size_t raise_descriptor_limit() {
  constexpr rlim_t kEnough = 8192;
  rlimit limit{};
  if (::getrlimit(RLIMIT_NOFILE, &limit) != 0) return 0;
  const rlim_t wanted = std::min(limit.rlim_max, std::max(limit.rlim_cur, kEnough));
  if (wanted != limit.rlim_cur) {
    const rlimit raised{wanted, limit.rlim_max};
    if (::setrlimit(RLIMIT_NOFILE, &raised) == 0) limit = raised;
  }
  return limit.rlim_cur;
}

// What a browser on this computer can open, also when the door is open on all addresses.
std::string shown_address(const asio::ip::tcp::endpoint& endpoint) {
  asio::ip::address address = endpoint.address();
  if (address.is_unspecified()) {
    address = address.is_v6() ? asio::ip::address(asio::ip::address_v6::loopback())
                              : asio::ip::address(asio::ip::address_v4::loopback());
  }
  return address.is_v6() ? fmt::format("http://[{}]:{}", address.to_string(), endpoint.port())
                         : fmt::format("http://{}:{}", address.to_string(), endpoint.port());
}

// Catches SIGINT, SIGTERM and SIGHUP from its making on; wait() returns the first in this thread.
class Signals {
 public:
  int wait() {
    int caught = 0;
    signals_.async_wait([&caught](const boost::system::error_code&, int number) { caught = number; });
    io_.run();
    return caught;
  }

 private:
  asio::io_context io_;
  asio::signal_set signals_{io_, SIGINT, SIGTERM, SIGHUP};
};

}  // namespace

base::Result<asio::ip::tcp::endpoint> parse_listen(const std::string& text) {
  const base::Error wrong(base::ErrorCode::invalid_value, "listen",
                          fmt::format("\"{}\" is no address with a port", text),
                          "Write it as 127.0.0.1:7420, [::1]:7420, or 0.0.0.0:7420 for the whole network.");
  const std::size_t colon = text.rfind(':');
  if (colon == std::string::npos) return wrong;
  std::string host = text.substr(0, colon);
  const std::string_view port_text = std::string_view(text).substr(colon + 1);
  std::uint16_t port = 0;
  const auto [end, fault] = std::from_chars(port_text.data(), port_text.data() + port_text.size(), port);
  if (fault != std::errc() || end != port_text.data() + port_text.size()) return wrong;
  if (host.size() > 2 && host.front() == '[' && host.back() == ']') host = host.substr(1, host.size() - 2);
  if (host == "localhost") host = "127.0.0.1";
  boost::system::error_code bad;
  const auto address = asio::ip::make_address(host, bad);
  if (bad) return wrong;
  return asio::ip::tcp::endpoint(address, port);
}

std::filesystem::path default_page_dir() {
  std::error_code fault;
  const auto program = std::filesystem::read_symlink("/proc/self/exe", fault);
  const auto folder = program.parent_path();
  for (const auto& candidate : {folder / "../share/rookery/page", folder / "../../../page/dist"}) {
    if (std::filesystem::exists(candidate / "index.html", fault))
      return std::filesystem::canonical(candidate, fault);
  }
  return folder / "../share/rookery/page";
}

void add_verbose(CLI::App& command) {
  command.add_flag_callback(
      "--verbose", [] { base::set_log_level(base::LogLevel::debug); },
      "Log each request and each oddity of what boards send as well");
}

base::Result<void> serve_until_signal(const ServingOptions& options, const WhenOpen& when_open) {
  ::signal(SIGPIPE, SIG_IGN);
  Signals signals;  // before anyone is told that the door is open: from then on a signal ends it in order
  const base::SystemClock clock;
  asio::io_context io(1);  // the hint: one thread runs it
  auto opened = station::Station::open(io, options.station, clock);
  if (!opened) return opened.error();
  const std::unique_ptr<station::Station> station = std::move(*opened);

  web::ServerOptions server_options;
  server_options.listen = {options.listen};
  server_options.page_dir = options.page_dir;
  server_options.names = options.host_names;
  server_options.trusted_proxies = options.trusted_proxies;
  server_options.limits.descriptors = raise_descriptor_limit();
  web::Server server(io, *station, server_options);

  const IoThread thread(io);
  if (auto started = server.start(); !started) return started;
  station->set_listening({{server.local_endpoint().address().to_string(), server.local_endpoint().port()}});
  station->start();
  auto told = when_open(*station, shown_address(server.local_endpoint()));
  if (told) {
    const int signal = signals.wait();
    base::log_info("station", "{}: closing", signal == SIGINT ? "interrupted" : "asked to end");
  }
  server.stop();
  station->stop();
  return told;
}

}  // namespace rookery::cli
