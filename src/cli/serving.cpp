#include "cli/serving.h"

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

// I/O threads: pictures are copied to sockets on them; two use two cores, more only add switches for this
// load.
unsigned io_threads() { return std::clamp(std::thread::hardware_concurrency(), 2U, 4U); }

// Runs an I/O context on a few threads for as long as it lives.
class IoThreads {
 public:
  explicit IoThreads(asio::io_context& io) : work_(io.get_executor()) {
    for (unsigned i = 0; i < io_threads(); ++i) threads_.emplace_back([&io] { io.run(); });
  }
  ~IoThreads() {
    work_.reset();
    for (std::thread& thread : threads_) thread.join();
  }
  IoThreads(const IoThreads&) = delete;
  IoThreads& operator=(const IoThreads&) = delete;

 private:
  asio::executor_work_guard<asio::io_context::executor_type> work_;
  std::vector<std::thread> threads_;
};

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

base::Result<void> serve_until_signal(const ServingOptions& options, const WhenOpen& when_open) {
  ::signal(SIGPIPE, SIG_IGN);
  Signals signals;  // before anyone is told that the door is open: from then on a signal ends it in order
  const base::SystemClock clock;
  asio::io_context io;
  auto opened = station::Station::open(io, options.station, clock);
  if (!opened) return opened.error();
  const std::unique_ptr<station::Station> station = std::move(*opened);

  web::ServerOptions server_options;
  server_options.listen = {options.listen};
  server_options.page_dir = options.page_dir;
  server_options.names = options.host_names;
  server_options.trusted_proxies = options.trusted_proxies;
  web::Server server(io, *station, server_options);

  const IoThreads threads(io);
  if (auto started = server.start(); !started) return started;
  station->start();
  const auto endpoint = server.local_endpoint();
  const std::string host = endpoint.address().is_v6() ? "[" + endpoint.address().to_string() + "]"
                                                      : endpoint.address().to_string();
  auto told = when_open(*station, fmt::format("http://{}:{}", host, endpoint.port()));
  if (told) {
    const int signal = signals.wait();
    base::log_info("station", "{}: closing", signal == SIGINT ? "interrupted" : "asked to end");
  }
  server.stop();
  station->stop();
  return told;
}

}  // namespace rookery::cli
