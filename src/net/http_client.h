// HttpClient: asks one board for something over HTTP/1.1 and hands out the body as it arrives. One connection
// at most.
#pragma once

#include <chrono>
#include <cstddef>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <vector>

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>

#include "base/result.h"
#include "net/address.h"
#include "net/resolve.h"
#include "net/response_parser.h"
#include "net/wire.h"
#include "proto/limits.h"

namespace rookery::net {

struct HttpOptions {
  std::chrono::milliseconds open{
      5000};  // name look-up, TCP, TLS, redirects, sign-in, response head: all of it
  std::chrono::milliseconds silence{10000};  // no byte of the body for so long
  std::size_t head_most_bytes = proto::kMaxHeadBytes;
  int redirects_most = proto::kMaxRedirects;
  TlsContext tls;  // null: system_tls(), made when first needed
  LookUp look_up = fetch_endpoints;
  // Asked before each request, on the strand, with all endpoints of the address's host: an error refuses the
  // request before a connection is made for it. May be empty.
  std::function<base::Result<void>(const std::vector<boost::asio::ip::tcp::endpoint>&, const Address&)>
      may_ask;
};

// strand-bound to `strand`. A connection is opened only after the one before was closed.
class HttpClient {
 public:
  using Piece = std::span<const std::byte>;

  HttpClient(boost::asio::any_io_executor strand, HttpOptions options);
  ~HttpClient();
  HttpClient(const HttpClient&) = delete;
  HttpClient& operator=(const HttpClient&) = delete;

  // GET: reuses the connection when it is the right one and still open; follows redirects (never from https
  // to http with a sign-in); answers a demand to sign in once; a name that is not known any more is tried at
  // the address that worked last. The head of the answer, whatever its status
  // but for followed redirects; the body is then read with fetch_piece(). The client must outlive the call.
  // Errors (`where` is "GET " and the address): unreachable, refused, timed_out, closed, malformed,
  // too_large, unsupported, no_permission (401 with and without sign-in), cancelled (by close()), and those
  // of may_ask.
  boost::asio::awaitable<base::Result<HttpHead>> fetch_head(Address address);

  // The next piece of the body, valid until the next call; empty at its end.
  // Errors: closed (not whole), malformed, timed_out (silence), cancelled.
  boost::asio::awaitable<base::Result<Piece>> fetch_piece();

  // Closes the connection at once; a pending call answers `cancelled`. The next fetch_head() starts afresh.
  void close();
  bool is_open() const;

  // What the kernel knows of the connection; nothing when there is none.
  std::optional<TcpVitals> tcp_vitals();

  // TCP connections that were established, ever.
  std::uint64_t connects() const;

  // True when a TCP connection was made in the last fetch_head() and not a byte of an answer came on it.
  bool connected_but_unheard() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace rookery::net
