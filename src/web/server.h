// Server: the station's door. HTTP API, live pictures, the page and its WebSocket, all on one port.
#pragma once

#include <chrono>
#include <cstddef>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>

#include "base/result.h"
#include "station/station.h"

namespace rookery::web {

// What one viewer may cost. The defaults are what a person gets; tests shorten the times.
struct ServerLimits {
  std::size_t head_most_bytes = 16u << 10;
  std::size_t body_most_bytes = 1u << 20;
  std::size_t sign_in_most_bytes = 4u << 10;  // the body of a sign-in, which anyone may send
  std::size_t still_most_bytes = 8u << 20;    // POST …/stills: as much as the pull takes from a board
  std::size_t connections_most = 4096;
  // File descriptors that the process may have (RLIMIT_NOFILE): viewers get what cameras and catalog leave of
  // them, and always 16. 0: no bound but connections_most.
  std::size_t descriptors = 0;
  std::size_t hashes_most = 1;                // Argon2id runs (64 MiB each) at one time: a worker stays free
  std::size_t hashes_waiting_most = 32;       // sign-ins that wait for their turn; more are told to come back
  std::chrono::milliseconds head{10'000};     // from the first wait to the end of a request's head
  std::chrono::milliseconds body{30'000};     // for all of the body
  std::chrono::milliseconds idle{60'000};     // between two requests of one connection
  std::chrono::milliseconds stalled{30'000};  // a viewer that takes no byte for so long is cut
  std::chrono::milliseconds tick{1'000};      // how often sign-ins of open streams are looked at again
  std::chrono::milliseconds ping_every{20'000};     // WebSocket
  std::chrono::milliseconds ping_patience{60'000};  // WebSocket: nothing heard for so long closes it
  std::chrono::milliseconds grace{2'000};           // stop(): what answers under way get to finish
  int send_buffer_bytes = 0;                        // SO_SNDBUF of each connection; 0 leaves it to the system
};

struct ServerOptions {
  // Where to listen. Several are possible (127.0.0.1 and ::1); port 0 lets the system choose.
  std::vector<boost::asio::ip::tcp::endpoint> listen;
  // The folder of the built page (index.html and what it names).
  std::filesystem::path page_dir;
  // Host names under which the station may be addressed, besides localhost and addresses. Against DNS
  // rebinding: bound to loopback, only localhost, 127.0.0.1, [::1] and these are answered; bound to the
  // network, when this is not empty, only these, localhost and literal addresses.
  std::vector<std::string> names;
  // Proxies whose X-Forwarded-For (last entry) and X-Forwarded-Proto are believed.
  std::vector<boost::asio::ip::address> trusted_proxies;
  std::chrono::hours session_length{24 * 30};
  ServerLimits limits;
};

// any-thread handle. Runs on the given context, which several threads may run; every connection has a strand
// of its own. Plain HTTP: where TLS is wanted, a proxy in trusted_proxies speaks it (docs/sign-in.md); the
// seam for TLS inside is the one alias web::Carrier (web/connection.h).
class Server {
 public:
  // `io` and `station` outlive the server.
  Server(boost::asio::io_context& io, station::Station& station, ServerOptions options);
  ~Server();  // stop()
  Server(const Server&) = delete;
  Server& operator=(const Server&) = delete;

  // Binds and listens. Errors: busy (the port is in use), no_permission (a port below 1024), invalid_value
  // (the address is not this computer's, or none given), io. Nothing listens after an error.
  base::Result<void> start();

  // Closes the door, lets answers under way finish within limits.grace, ends streams and sockets, and returns
  // when the last connection is gone. The context must still be running, and the caller must not be one of
  // its threads. Harmless twice.
  void stop();

  // Where it listens (the first of options.listen, with the port that was chosen). After start().
  boost::asio::ip::tcp::endpoint local_endpoint() const;
  std::size_t connections() const;

  class Impl;

 private:
  std::shared_ptr<Impl> impl_;
};

}  // namespace rookery::web
