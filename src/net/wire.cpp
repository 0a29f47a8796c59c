#include "net/wire.h"

#include <fmt/format.h>
#include <openssl/err.h>
#include <openssl/ssl.h>
#include <boost/asio.hpp>
#include <boost/asio/ssl.hpp>

#include "net/deadline.h"

namespace rookery::net {

namespace asio = boost::asio;
using asio::ip::tcp;
using base::Error;
using base::ErrorCode;
using base::Result;
using boost::system::error_code;

namespace {

// Held by value and awaited under a deadline.
asio::awaitable<error_code> connect_one(tcp::socket* socket, tcp::endpoint to) {
  auto connecting = socket->async_connect(to, asio::as_tuple(asio::use_awaitable));
  const std::tuple<error_code> done = co_await std::move(connecting);
  co_return std::get<0>(done);
}

// What the handshake's failure means for a person.
Error tls_error(const error_code& code, const std::string& host, long verdict) {
  if (verdict != X509_V_OK) {
    return {ErrorCode::no_permission,
            {},
            fmt::format("the certificate of {} is not accepted: {}", host,
                        X509_verify_cert_error_string(verdict)),
            "Let an authority that this computer trusts sign it, or use http:// on a network of your own"};
  }
  const int reason = ERR_GET_REASON(static_cast<unsigned long>(code.value()));
  const bool not_tls = code.category() == asio::error::get_ssl_category() &&
                       (reason == SSL_R_WRONG_VERSION_NUMBER || reason == SSL_R_HTTP_REQUEST ||
                        reason == SSL_R_PACKET_LENGTH_TOO_LONG || reason == SSL_R_UNEXPECTED_MESSAGE);
  if (not_tls) {
    return {ErrorCode::unsupported, {}, "this port does not speak TLS", "Write http:// instead of https://"};
  }
  if (code == asio::error::eof || code == asio::error::connection_reset ||
      code == asio::ssl::error::stream_truncated) {
    return {ErrorCode::unsupported,
            {},
            "the connection was closed while agreeing on TLS",
            "The port may not speak TLS; boards seldom do: try http:// instead of https://"};
  }
  Error error = error_of(code);
  error.detail = "TLS could not be agreed on: " + error.detail;
  return error;
}

}  // namespace

TlsContext system_tls() {
  static const TlsContext shared = [] {
    auto made = std::make_shared<asio::ssl::context>(asio::ssl::context::tls_client);
    made->set_default_verify_paths();
    made->set_verify_mode(asio::ssl::verify_peer);
    SSL_CTX_set_min_proto_version(made->native_handle(), TLS1_2_VERSION);
    // A board that closes without a TLS goodbye is seen as closing, not as breaking the protocol.
    SSL_CTX_set_options(made->native_handle(), SSL_OP_IGNORE_UNEXPECTED_EOF);
    return made;
  }();
  return shared;
}

Error error_of(const error_code& code) {
  if (code == asio::error::operation_aborted) return {ErrorCode::cancelled, {}, "stopped", {}};
  if (code == asio::error::connection_refused) {
    return {ErrorCode::refused,
            {},
            "connection refused: nothing listens on that port",
            "Is the board running? Stills are often on port 80, the stream on 81"};
  }
  if (code == asio::error::host_unreachable || code == asio::error::network_unreachable) {
    return {ErrorCode::unreachable,
            {},
            fmt::format("there is no way to it ({})", code.message()),
            "Is the board powered and on this network?"};
  }
  if (code == asio::error::timed_out) {
    return {ErrorCode::timed_out, {}, "it does not answer", "Is the board powered and on this network?"};
  }
  if (code == asio::error::eof || code == asio::error::connection_reset || code == asio::error::broken_pipe ||
      code == asio::ssl::error::stream_truncated) {
    return {ErrorCode::closed,
            {},
            code == asio::error::eof ? "the connection was closed" : "the connection was reset",
            {}};
  }
  return {ErrorCode::io, {}, code.message(), {}};
}

asio::awaitable<Result<void>> Wire::connect(std::vector<tcp::endpoint> endpoints,
                                            std::chrono::steady_clock::duration limit) {
  const auto began = std::chrono::steady_clock::now();
  Error last(ErrorCode::unreachable, {}, "the name has no address", {});
  for (std::size_t n = 0; n < endpoints.size(); ++n) {
    const auto left = limit - (std::chrono::steady_clock::now() - began);
    if (left <= std::chrono::steady_clock::duration::zero()) break;
    peer_ = endpoints[n];
    auto one = connect_one(&socket_, peer_);
    auto limited = with_deadline(std::move(one), left / static_cast<long>(endpoints.size() - n));
    const std::optional<error_code> done = co_await std::move(limited);
    if (done && !*done) {
      error_code ignored;
      socket_.set_option(tcp::no_delay(true), ignored);
      co_return base::ok();
    }
    last = error_of(done ? *done : error_code(asio::error::timed_out));
    if (last.code == ErrorCode::cancelled) break;
    close();
  }
  co_return last;
}

asio::awaitable<Result<void>> Wire::secure(TlsContext tls, std::string host) {
  tls_context_ = std::move(tls);
  tls_.emplace(socket_, *tls_context_);
  error_code not_literal;
  asio::ip::make_address(host, not_literal);
  // Server names are names only (RFC 6066 §3).
  if (not_literal) SSL_set_tlsext_host_name(tls_->native_handle(), host.c_str());
  tls_->set_verify_callback(asio::ssl::host_name_verification(host));
  auto shaking = tls_->async_handshake(asio::ssl::stream_base::client, asio::as_tuple(asio::use_awaitable));
  const std::tuple<error_code> done = co_await std::move(shaking);
  const error_code code = std::get<0>(done);
  if (!code) co_return base::ok();
  co_return tls_error(code, host, SSL_get_verify_result(tls_->native_handle()));
}

Wire::Io Wire::write(asio::const_buffer bytes) {
  auto token = asio::as_tuple(asio::use_awaitable);
  return tls_ ? asio::async_write(*tls_, asio::buffer(bytes), token)
              : asio::async_write(socket_, asio::buffer(bytes), token);
}

Wire::Io Wire::read_some(asio::mutable_buffer into) {
  auto token = asio::as_tuple(asio::use_awaitable);
  return tls_ ? tls_->async_read_some(into, token) : socket_.async_read_some(into, token);
}

std::optional<TcpVitals> Wire::tcp_vitals() {
  return socket_.is_open() ? read_tcp_vitals(socket_.native_handle()) : std::nullopt;
}

void Wire::close() {
  error_code ignored;
  socket_.close(ignored);
}

}  // namespace rookery::net
