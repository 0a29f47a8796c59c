// Wire: one TCP connection, with TLS or without. What an HttpClient speaks over.
#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <tuple>

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/buffer.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/ssl/context.hpp>
#include <boost/asio/ssl/stream.hpp>

#include "base/result.h"
#include "net/address.h"
#include "net/tcp_vitals.h"

namespace rookery::net {

using TlsContext = std::shared_ptr<boost::asio::ssl::context>;

// The process-wide TLS settings: TLS 1.2 and later, certificates checked against the system's authorities.
// any-thread.
TlsContext system_tls();

// strand-bound.
class Wire {
 public:
  using Io = boost::asio::awaitable<std::tuple<boost::system::error_code, std::size_t>>;

  explicit Wire(const boost::asio::any_io_executor& strand) : socket_(strand) {}

  // Connects to the first endpoint that answers; each gets its share of `limit`. Errors: refused,
  // unreachable, timed_out, cancelled.
  boost::asio::awaitable<base::Result<void>> connect(std::vector<boost::asio::ip::tcp::endpoint> endpoints,
                                                     std::chrono::steady_clock::duration limit);
  // TLS on top, the certificate checked for `host`. Errors: unsupported (no TLS there), no_permission
  // (certificate not accepted), closed, cancelled.
  boost::asio::awaitable<base::Result<void>> secure(TlsContext tls, std::string host);

  Io write(boost::asio::const_buffer bytes);
  Io read_some(boost::asio::mutable_buffer into);

  bool is_open() const { return socket_.is_open(); }
  // Closes the socket at once; whoever waits on it gets operation_aborted.
  void close();
  boost::asio::ip::tcp::endpoint peer() const { return peer_; }
  // Nothing when it is closed.
  std::optional<TcpVitals> tcp_vitals();

 private:
  boost::asio::ip::tcp::socket socket_;
  TlsContext tls_context_;
  std::optional<boost::asio::ssl::stream<boost::asio::ip::tcp::socket&>> tls_;
  boost::asio::ip::tcp::endpoint peer_;
};

// A failed read, write or connect as an Error without `where`. any-thread.
base::Error error_of(const boost::system::error_code& code);

}  // namespace rookery::net
