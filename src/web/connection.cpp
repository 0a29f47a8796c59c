#include "web/connection.h"

#include <netinet/tcp.h>
#include <sys/socket.h>

#include <boost/asio/redirect_error.hpp>
#include <boost/asio/this_coro.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/beast/http/read.hpp>

#include "base/log.h"
#include "base/printable.h"
#include "base/redact.h"
#include "web/cookie.h"
#include "web/on_workers.h"
#include "web/problem.h"

namespace rookery::web {
namespace asio = boost::asio;
namespace beast = boost::beast;
using base::Error;
using base::ErrorCode;
using boost::system::error_code;
namespace {

// Unsent bytes that the system holds for one viewer at most: beyond that a viewer is slow and gets newer
// frames instead of older ones. Two frames of 25 kB.
constexpr int kUnsentMost_bytes = 64 << 10;

void set_up(asio::ip::tcp::socket& socket, int send_buffer_bytes) {
  error_code ignored;
  socket.non_blocking(true, ignored);
  socket.set_option(asio::ip::tcp::no_delay(true), ignored);
  if (send_buffer_bytes > 0) {
    socket.set_option(asio::socket_base::send_buffer_size(send_buffer_bytes), ignored);
  }
  ::setsockopt(socket.native_handle(), IPPROTO_TCP, TCP_NOTSENT_LOWAT, &kUnsentMost_bytes,
               sizeof(kUnsentMost_bytes));
}

// What to answer to a head that could not be read; nothing when the viewer just left or was too slow.
std::optional<Response> answer_to(error_code error) {
  if (error == http::error::header_limit) {
    return problem(Error(ErrorCode::too_large, "request", "the head is larger than 16 KiB",
                         "Send shorter header fields and address."),
                   http::status::request_header_fields_too_large);
  }
  if (error == http::error::body_limit) {
    return problem(Error(ErrorCode::too_large, "request", "the body is larger than the station takes",
                         "Send less, or in pieces."));
  }
  if (error.category() == make_error_code(http::error::bad_method).category() &&
      error != http::error::end_of_stream && error != http::error::partial_message) {
    return problem(Error(ErrorCode::malformed, "request", error.message(), "Send HTTP/1.1 (RFC 9112)."),
                   http::status::bad_request);
  }
  return std::nullopt;
}

Response not_found(const Request& request) {
  return problem(Error(ErrorCode::not_found, request.shown, "there is nothing at this address",
                       "GET /api/v1/openapi.json describes all addresses."));
}

Response method_not_allowed(const Request& request, const std::string& allowed) {
  Response response = problem(Error(ErrorCode::unsupported, request.shown, "this method does nothing here",
                                    "Allowed are: " + allowed + "."),
                              http::status::method_not_allowed);
  response.set("Allow", allowed);
  return response;
}

Response body_too_large(std::size_t most_bytes) {
  return problem(Error(ErrorCode::too_large, "request",
                       fmt::format("the body is larger than {} bytes", most_bytes),
                       "Send less, or in pieces."));
}

std::size_t most_body(const ServerLimits& limits, Takes takes) {
  switch (takes) {
    case Takes::sign_in:
      return limits.sign_in_most_bytes;
    case Takes::still:
      return limits.still_most_bytes;
    case Takes::nothing:
    case Takes::json:
      break;
  }
  return limits.body_most_bytes;
}

}  // namespace

Connection::Connection(std::shared_ptr<Services> services, asio::ip::tcp::socket socket)
    : services_(std::move(services)), carrier_(std::move(socket)) {
  error_code ignored;
  peer_ = carrier_.socket().remote_endpoint(ignored).address();
  address_ = limiter_key(peer_.to_string());
  waiting_since_ = nanoseconds(std::chrono::steady_clock::now());
  set_up(carrier_.socket(), services_->options.limits.send_buffer_bytes);
}

std::optional<base::MonoTime> Connection::stranger_since() const {
  const std::int64_t since = waiting_since_.load(std::memory_order_relaxed);
  if (since == 0 || known_.load(std::memory_order_relaxed)) return std::nullopt;
  return base::MonoTime(
      std::chrono::duration_cast<base::MonoTime::duration>(std::chrono::nanoseconds(since)));
}

void Connection::begin_ending() {
  ending_ = true;
  if (const auto hook = std::exchange(on_ending_, nullptr)) hook();
}

void Connection::end() {
  asio::post(executor(), [self = shared_from_this()] {
    self->begin_ending();
    self->cancel_.emit(asio::cancellation_type::terminal);
    self->carrier_.close();
  });
}

void Connection::end_gently() {
  asio::post(executor(), [self = shared_from_this()] {
    self->begin_ending();
    if (self->phase_ != Phase::answering) self->cancel_.emit(asio::cancellation_type::terminal);
  });
}

void Connection::note_writing(bool begun) {
  writing_since_.store(begun ? nanoseconds(std::chrono::steady_clock::now()) : 0, std::memory_order_relaxed);
}

void Connection::tick(base::MonoTime now) {
  const std::chrono::nanoseconds patience = services_->options.limits.stalled;
  const std::int64_t since = writing_since_.load(std::memory_order_relaxed);
  if (since != 0) {
    asio::post(executor(), [self = shared_from_this(), now] { self->end_if_stalled(now); });
  }
  const std::uint64_t writes = writes_.load(std::memory_order_relaxed);
  if (writes != writes_seen_ || quiet_since_ == base::MonoTime{}) {
    writes_seen_ = writes;
    quiet_since_ = now;
  } else if (now - quiet_since_ > patience) {
    quiet_since_ = now;
    asio::post(executor(), [self = shared_from_this()] { self->end_if_left(); });
  }
}

// A viewer who has ended their sending direction may still read: that is found out by writing. Where nothing
// is written for long, they count as gone.
void Connection::end_if_left() {
  if (phase_ != Phase::streaming) return;
  char byte = 0;
  const auto count = ::recv(carrier_.socket().native_handle(), &byte, 1, MSG_PEEK | MSG_DONTWAIT);
  if (count == 0 || (count < 0 && errno != EAGAIN && errno != EINTR)) end();
}

void Connection::become_stream(std::function<bool()> still_allowed) {
  phase_ = Phase::streaming;
  if (ending_) end_gently();
  const std::scoped_lock lock(ask_mutex_);
  still_allowed_ = std::move(still_allowed);
}

void Connection::ask_again() {
  const std::scoped_lock lock(ask_mutex_);
  if (still_allowed_ && !still_allowed_()) {
    still_allowed_ = nullptr;
    end();
  }
}

asio::awaitable<void> Connection::run() {
  bool again = true;
  while (again && !ending_) {
    Parser parser;
    parser.header_limit(static_cast<std::uint32_t>(services_->options.limits.head_most_bytes));
    parser.body_limit(services_->options.limits.still_most_bytes);
    phase_ = Phase::idle;
    waiting_since_ = nanoseconds(std::chrono::steady_clock::now());
    auto reading = read_head(parser);
    if (!co_await std::move(reading)) break;
    phase_ = Phase::answering;
    waiting_since_ = 0;
    carrier_.expires_never();
    auto answering = answer_one(parser);
    again = co_await std::move(answering);
    first_request_ = false;
  }
  error_code ignored;
  carrier_.socket().shutdown(asio::ip::tcp::socket::shutdown_both, ignored);
  carrier_.socket().close(ignored);
}

// Lent: the parser lies in the frame of run(), which awaits this to its end.
asio::awaitable<bool> Connection::read_head(Parser& parser) {
  const ServerLimits& limits = services_->options.limits;
  error_code error;
  carrier_.expires_after(limits.head);
  if (!first_request_ && buffer_.size() == 0) {
    carrier_.expires_after(limits.idle);
    auto wait =
        carrier_.async_read_some(buffer_.prepare(4096), asio::redirect_error(asio::use_awaitable, error));
    const std::size_t count = co_await std::move(wait);
    if (error) co_return false;
    buffer_.commit(count);
    carrier_.expires_after(limits.head);
  }
  auto reading =
      http::async_read_header(carrier_, buffer_, parser, asio::redirect_error(asio::use_awaitable, error));
  co_await std::move(reading);
  if (!error) co_return true;
  std::optional<Response> answer = answer_to(error);
  if (answer) {
    body_left_ = true;
    auto responding = respond(std::move(*answer), false, false);
    co_await std::move(responding);
    auto lingering = linger();
    co_await std::move(lingering);
  }
  co_return false;
}

bool Connection::peer_is_trusted() const {
  const auto& trusted = services_->options.trusted_proxies;
  return std::find(trusted.begin(), trusted.end(), peer_) != trusted.end();
}

Request Connection::take_request(Parser& parser) {
  Request request;
  request.method = parser.get().method();
  const auto method = parser.get().method_string();
  const auto target = parser.get().target();
  request.shown =
      fmt::format("{} {}", std::string_view(method.data(), method.size()),
                  base::redact_address({target.data(), std::min<std::size_t>(target.size(), 500)}));
  request.fields = parser.get().base();
  request.peer = peer_.to_string();
  if (peer_is_trusted()) {
    std::string_view chain = request.field("X-Forwarded-For");
    chain.remove_prefix(std::min(chain.rfind(',') + 1, chain.size()));
    while (chain.starts_with(' ')) chain.remove_prefix(1);
    if (!chain.empty()) request.peer = std::string(chain.substr(0, 64));
    request.over_tls = request.field("X-Forwarded-Proto") == "https";
  }
  return request;
}

base::Result<void> Connection::check_head(const Parser& parser, Request& request) const {
  const auto target = parser.get().target();
  if (auto read = read_target({target.data(), target.size()}, request); !read) return read;
  const std::string_view host = request.field(http::field::host);
  if (host.empty() && parser.get().version() >= 11) {
    return Error(ErrorCode::malformed, "request", "there is no Host field", "HTTP/1.1 needs one.");
  }
  if (!host.empty() && !is_known_host(host, services_->loopback, services_->options.names)) {
    return Error(ErrorCode::refused, "request",
                 fmt::format("\"{}\" is not a name of this station", base::printable(host, 100)),
                 "Use the address that the station printed, or add the name to its settings.");
  }
  return base::ok();
}

// Lent: the parser, as for read_head().
asio::awaitable<bool> Connection::answer_one(Parser& parser) {
  const bool may_stay = parser.get().keep_alive();
  const bool head_only = parser.get().method() == http::verb::head;
  Call call(*services_, take_request(parser));
  body_left_ = !parser.is_done();
  auto checked = check_head(parser, call.request);
  Match found;
  Response response;
  if (!checked) {
    const bool refused = checked.error().code == ErrorCode::refused;
    response =
        problem(checked.error(), refused ? http::status::misdirected_request : http::status::bad_request);
  } else {
    found = match(routes(), call.request.method, call.request.segments);
    call.params = std::move(found.params);
    if (found.route == nullptr) {
      response =
          found.allowed.empty() ? not_found(call.request) : method_not_allowed(call.request, found.allowed);
    }
  }
  if (found.route != nullptr) {
    auto ask = [&call, route = found.route] {
      return authorise(call.services, route->need, call.request, call.params);
    };
    auto asking = run_on(services_->station.asking(), std::move(ask));
    std::variant<Caller, Response> answer = co_await std::move(asking);
    if (auto* denied = std::get_if<Response>(&answer)) {
      response = std::move(*denied);
    } else {
      call.caller = std::get<Caller>(std::move(answer));
      if (call.caller.person || call.caller.token) known_ = true;
      if (const auto* stream = std::get_if<Stream>(&found.route->handler)) {
        auto streaming = (*stream)(call, *this);
        co_await std::move(streaming);
        co_return false;
      }
      const std::size_t most = most_body(services_->options.limits, found.route->takes);
      bool fits = true;
      if (body_left_) {
        auto reading = read_body(parser, most);
        fits = co_await std::move(reading);
      }
      if (!fits) {
        response = body_too_large(most);
      } else if (body_left_) {
        co_return false;  // the viewer left in the middle
      } else {
        call.request.body = std::move(parser.get().body());
        auto working = dispatch(call, *found.route);
        response = co_await std::move(working);
      }
    }
  }
  base::log_debug("web", "{} {} {}", call.request.peer, call.request.shown,
                  static_cast<unsigned>(response.status));
  const bool stays = may_stay && !body_left_ && !ending_;
  auto responding = respond(std::move(response), head_only, stays);
  const bool written = co_await std::move(responding);
  if (written && !stays && body_left_) {
    auto lingering = linger();
    co_await std::move(lingering);
  }
  co_return written&& stays;
}

// True unless it is too large. body_left_ tells whether it was read to its end.
// Lent: the parser, which answer_one() was lent itself; it awaits this to its end.
asio::awaitable<bool> Connection::read_body(Parser& parser, std::size_t most_bytes) {
  const auto declared = parser.content_length();
  if (declared && *declared > most_bytes) co_return false;
  parser.body_limit(most_bytes);
  if (beast::iequals(parser.get()[http::field::expect], "100-continue") && buffer_.size() == 0) {
    constexpr std::string_view kGoOn = "HTTP/1.1 100 Continue\r\n\r\n";
    const std::array<asio::const_buffer, 3> pieces = {asio::buffer(kGoOn.data(), kGoOn.size())};
    auto writing = write(pieces);
    if (!co_await std::move(writing)) co_return true;
  }
  error_code error;
  carrier_.expires_after(services_->options.limits.body);
  auto reading =
      http::async_read(carrier_, buffer_, parser, asio::redirect_error(asio::use_awaitable, error));
  co_await std::move(reading);
  carrier_.expires_never();
  if (error == http::error::body_limit) co_return false;
  body_left_ = bool(error);
  co_return true;
}

// Lent: the call lies in the frame of answer_one(), which awaits this to its end; routes are immutable.
asio::awaitable<Response> Connection::dispatch(Call& call, const Route& route) {
  std::string failure;
  try {
    if (route.hashes) {
      auto entering = services_->hashing.enter();
      Gate::Pass got = co_await std::move(entering);
      if (!got) {
        Response busy = problem(Error(ErrorCode::busy, "sign-in", "too many people sign in at this moment",
                                      "Try again in a few seconds."),
                                http::status::too_many_requests);
        busy.set("Retry-After", "5");
        co_return busy;
      }
      auto work = [&call, &route] { return std::get<Plain>(route.handler)(call); };
      auto working = run_on(services_->station.reading(), std::move(work));
      co_return co_await std::move(working);
    }
    if (const auto* awaited = std::get_if<Awaited>(&route.handler)) {
      auto answering = (*awaited)(call);
      co_return co_await std::move(answering);
    }
    auto work = [&call, &route] { return std::get<Plain>(route.handler)(call); };
    auto working = run_on(services_->station.reading(), std::move(work));
    co_return co_await std::move(working);
  } catch (const boost::system::system_error& error) {
    if (error.code() == asio::error::operation_aborted) throw;
    failure = error.what();
  } catch (const std::exception& error) {
    failure = error.what();
  }
  base::log_error("web", "{}: {}", call.request.shown, failure);
  co_return problem(Error(ErrorCode::io, call.request.shown, "the station failed while it answered",
                          "The station's log tells more."));
}

}  // namespace rookery::web
