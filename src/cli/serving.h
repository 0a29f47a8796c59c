// Serving: a station with its door open, until a signal ends it. Shared by `serve` and `demo`.
#pragma once

#include <functional>
#include <string>

#include <boost/asio/ip/tcp.hpp>

#include "cli/cli.h"
#include "station/station.h"

namespace rookery::cli {

struct ServingOptions {
  station::StationOptions station;
  boost::asio::ip::tcp::endpoint listen;
  std::vector<std::string> host_names;
  std::vector<boost::asio::ip::address> trusted_proxies;
  std::filesystem::path page_dir;
};

// "127.0.0.1:7420", "[::1]:7420", "0.0.0.0:80", "localhost:7420" (the loopback address). Errors:
// invalid_value.
base::Result<boost::asio::ip::tcp::endpoint> parse_listen(const std::string& text);

// Where the built page is: beside an installed program, or in the source tree that it was built in.
std::filesystem::path default_page_dir();

// Gives `command` the option --verbose: what goes on in detail is logged as well, for all that follows.
void add_verbose(CLI::App& command);

// What is called when the door is open: with the running station and "http://ADDRESS:PORT".
using WhenOpen = std::function<base::Result<void>(station::Station&, const std::string& address)>;

// Opens, serves, and returns after SIGINT or SIGTERM when all is closed and written.
base::Result<void> serve_until_signal(const ServingOptions& options, const WhenOpen& when_open);

}  // namespace rookery::cli
