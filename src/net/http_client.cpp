#include "net/http_client.h"

#include <algorithm>
#include <array>
#include <vector>

#include <fmt/format.h>
#include <boost/asio.hpp>
#include <boost/beast/core.hpp>

#include "base/log.h"
#include "net/asking.h"
#include "net/watchdog.h"

namespace rookery::net {

namespace asio = boost::asio;
using asio::ip::tcp;
using base::Error;
using base::ErrorCode;
using base::Result;
using boost::system::error_code;

namespace {

// One reused buffer a connection: a board's window is 5.7 kB, a fast sender fills what the kernel holds.
constexpr std::size_t kBufferBytes = 64 * 1024;

}  // namespace

struct HttpClient::Impl {
  Impl(asio::any_io_executor strand_, HttpOptions options_)
      : strand(std::move(strand_)),
        options(std::move(options_)),
        watchdog(strand, [this] { drop(); }),
        asking(options.redirects_most) {}

  // Ends the connection, whatever happens on it.
  void drop() {
    if (wire) wire->close();
  }

  void forget() {
    drop();
    wire.reset();
    begin = end = 0;
  }

  asio::awaitable<Result<HttpHead>> fetch_head(Address address);
  asio::awaitable<Result<HttpHead>> exchange(Address address);
  asio::awaitable<Result<void>> connect(Address address);
  asio::awaitable<Result<std::vector<tcp::endpoint>>> endpoints_of(Address address);
  asio::awaitable<Result<HttpHead>> ask();
  asio::awaitable<Result<void>> fill();
  asio::awaitable<bool> drain();
  Result<bool> parse();
  bool reusable(const Address& address) const;
  Result<void> permitted(const Address& address) const;
  Error placed(Error error, const Address& address) const;

  const asio::any_io_executor strand;
  HttpOptions options;
  const std::shared_ptr<asio::steady_timer> bell =
      std::make_shared<asio::steady_timer>(strand);  // of a look-up
  Watchdog watchdog;
  std::optional<Wire> wire;
  std::optional<Address> origin;         // of the wire
  std::vector<tcp::endpoint> reachable;  // of the wire's host
  std::optional<tcp::endpoint> known;    // last that worked for known_host
  std::string known_host;
  std::unique_ptr<ResponseParser> parser;
  std::vector<ResponseParser::Piece> ready;  // pieces of the buffer to hand out, and how many have been
  std::size_t handed = 0;
  std::unique_ptr<std::array<std::byte, kBufferBytes>> buffer;
  std::size_t begin = 0;  // unparsed bytes: [begin, end) of the buffer
  std::size_t end = 0;
  Asking asking;
  bool closing = false;
  bool connected = false;
  std::uint64_t connects = 0;
  const char* stage = "";
};

// Why the last call failed, seen from outside: a time-out and a close() both show as an aborted operation.
Error HttpClient::Impl::placed(Error error, const Address& address) const {
  if (closing) {
    error = Error(ErrorCode::cancelled, {}, "stopped", {});
  } else if (watchdog.bitten()) {
    error = Error(ErrorCode::timed_out, {}, fmt::format("nothing came in time while {}", stage),
                  "Is the board powered and on this network?");
  }
  error.where = "GET " + address.shown();
  return error;
}

bool HttpClient::Impl::reusable(const Address& address) const {
  return wire && wire->is_open() && origin && origin->same_origin(address) && parser && parser->done() &&
         parser->head()->keep_alive && begin == end;
}

Result<void> HttpClient::Impl::permitted(const Address& address) const {
  return options.may_ask ? options.may_ask(reachable, address) : base::ok();
}

asio::awaitable<Result<std::vector<tcp::endpoint>>> HttpClient::Impl::endpoints_of(Address address) {
  stage = "looking up its name";
  auto looking = options.look_up(address.host, address.port, watchdog.left(), bell);
  Result<std::vector<tcp::endpoint>> found = co_await std::move(looking);
  if (found || !known || known_host != address.host) co_return found;
  // Names of boards get lost on many networks after two minutes while the address still works.
  base::log_warning("net", "{}; trying {} where it was last", found.error().text(),
                    known->address().to_string());
  std::vector<tcp::endpoint> last{tcp::endpoint(known->address(), address.port)};
  co_return last;
}

asio::awaitable<Result<void>> HttpClient::Impl::connect(Address address) {
  forget();
  connected = false;
  auto looking = endpoints_of(address);
  Result<std::vector<tcp::endpoint>> endpoints = co_await std::move(looking);
  if (!endpoints) co_return std::move(endpoints).error();
  if (closing) co_return Error(ErrorCode::cancelled, {}, "stopped", {});
  reachable = std::move(*endpoints);
  if (auto may = permitted(address); !may) co_return may;
  stage = "connecting";
  wire.emplace(strand);
  auto connecting = wire->connect(reachable, watchdog.left());
  Result<void> done = co_await std::move(connecting);
  if (!done) co_return done;
  if (closing) co_return Error(ErrorCode::cancelled, {}, "stopped", {});
  connected = true;
  ++connects;
  if (address.scheme == Scheme::https) {
    stage = "agreeing on TLS";
    auto securing = wire->secure(options.tls ? options.tls : system_tls(), address.host);
    done = co_await std::move(securing);
    if (!done) co_return done;
  }
  origin = address;
  known = wire->peer();
  known_host = address.host;
  co_return base::ok();
}

// Feeds the parser what is in the buffer. True when something came of it: head, pieces or the end.
Result<bool> HttpClient::Impl::parse() {
  if (begin == end) return false;
  const bool had_head = parser->head().has_value();
  const auto taken = parser->push(ResponseParser::Piece(buffer->data() + begin, end - begin));
  if (!taken) return taken.error();
  begin += *taken;
  if (begin == end) begin = end = 0;
  ready.swap(parser->pieces());
  parser->pieces().clear();
  handed = 0;
  return !ready.empty() || parser->done() || (!had_head && parser->head());
}

// Reads once into the free end of the buffer. On the other side's close: tells the parser.
asio::awaitable<Result<void>> HttpClient::Impl::fill() {
  if (!buffer) buffer = std::make_unique<std::array<std::byte, kBufferBytes>>();
  if (begin != 0) {
    std::memmove(buffer->data(), buffer->data() + begin, end - begin);
    end -= begin;
    begin = 0;
  }
  if (end == kBufferBytes)
    co_return Error(ErrorCode::too_large, {}, "a chunk header in the body has no end", {});
  auto reading = wire->read_some(asio::buffer(buffer->data() + end, kBufferBytes - end));
  const std::tuple<error_code, std::size_t> got = co_await std::move(reading);
  const error_code code = std::get<0>(got);
  if (code == asio::error::eof) co_return parser->finish();
  if (code) co_return error_of(code);
  end += std::get<1>(got);
  co_return base::ok();
}

// Writes the request and reads the head on the connection that is open.
asio::awaitable<Result<HttpHead>> HttpClient::Impl::ask() {
  stage = "waiting for its answer";
  parser = std::make_unique<ResponseParser>(options.head_most_bytes);
  ready.clear();
  handed = 0;
  const std::string text = asking.request();
  auto writing = wire->write(asio::buffer(text));
  const std::tuple<error_code, std::size_t> written = co_await std::move(writing);
  if (std::get<0>(written)) co_return error_of(std::get<0>(written));
  // The watchdog is not touched here: a head that trickles in byte by byte does not earn more time.
  while (!parser->head()) {
    auto filling = fill();
    const Result<void> filled = co_await std::move(filling);
    if (!filled) co_return filled.error();
    const Result<bool> parsed = parse();
    if (!parsed) co_return parsed.error();
  }
  co_return *parser->head();
}

// One request, on the kept connection if there is one. A board may have closed that just now: then once more.
asio::awaitable<Result<HttpHead>> HttpClient::Impl::exchange(Address address) {
  if (reusable(address)) {
    if (auto may = permitted(address); !may) co_return may.error();
    auto answering = ask();
    Result<HttpHead> again = co_await std::move(answering);
    if (again || closing || watchdog.bitten() || parser->begun()) co_return again;
  }
  auto connecting = connect(address);
  const Result<void> connected_now = co_await std::move(connecting);
  if (!connected_now) co_return connected_now.error();
  auto answering = ask();
  Result<HttpHead> head = co_await std::move(answering);
  co_return head;
}

// Reads the rest of a short body away, so that the connection can be used again. False when it is not worth
// it.
asio::awaitable<bool> HttpClient::Impl::drain() {
  std::size_t total = 0;
  while (!parser->done() && parser->head()->keep_alive && total < proto::kMaxTextBodyBytes) {
    auto filling = fill();
    const Result<void> filled = co_await std::move(filling);
    if (!filled) co_return false;
    const Result<bool> parsed = parse();
    if (!parsed) co_return false;
    for (const auto& piece : ready) total += piece.size();
  }
  ready.clear();
  co_return parser->done();
}

asio::awaitable<Result<HttpHead>> HttpClient::Impl::fetch_head(Address address) {
  closing = false;
  connected = connected && wire && wire->is_open();
  watchdog.arm(options.open);
  const Address first = address;
  asking.begin(std::move(address));
  for (;;) {
    auto exchanging = exchange(asking.address());
    Result<HttpHead> head = co_await std::move(exchanging);
    const Result<bool> again = head ? asking.go_on(*head) : Result<bool>(head.error());
    if (!again) {
      Error error = placed(again.error(), first);
      forget();
      co_return error;
    }
    if (!*again) {
      watchdog.arm(options.silence);
      co_return head;
    }
    auto draining = drain();
    const bool clean = co_await std::move(draining);
    if (!clean) forget();
  }
}

HttpClient::HttpClient(asio::any_io_executor strand, HttpOptions options)
    : impl_(std::make_unique<Impl>(std::move(strand), std::move(options))) {}
HttpClient::~HttpClient() = default;

asio::awaitable<Result<HttpHead>> HttpClient::fetch_head(Address address) {
  return impl_->fetch_head(std::move(address));
}

asio::awaitable<Result<HttpClient::Piece>> HttpClient::fetch_piece() {
  Impl& impl = *impl_;
  impl.stage = "reading";
  for (;;) {
    if (impl.handed < impl.ready.size()) co_return impl.ready[impl.handed++];
    if (!impl.parser || !impl.wire || impl.closing) {
      co_return Error(ErrorCode::cancelled, {}, "stopped", {});
    }
    if (impl.parser->done()) {
      impl.watchdog.disarm();
      if (!impl.parser->head()->keep_alive) impl.forget();
      co_return Piece();
    }
    // What the buffer still holds was looked at with the last bytes; more is needed, unless the head just
    // ended.
    Result<bool> parsed = impl.parse();
    if (parsed && !*parsed) {
      auto filling = impl.fill();
      const Result<void> filled = co_await std::move(filling);
      if (filled) {
        impl.watchdog.touch();
        parsed = impl.parse();
      } else {
        parsed = filled.error();
      }
    }
    if (!parsed) {
      Error error = impl.placed(parsed.error(), impl.origin ? *impl.origin : Address());
      if (error.code == ErrorCode::timed_out) {
        error.detail = fmt::format("connected, but no byte came for {} s",
                                   std::chrono::duration<double>(impl.options.silence).count());
      }
      impl.forget();
      co_return error;
    }
  }
}

void HttpClient::close() {
  impl_->closing = true;
  impl_->watchdog.disarm();
  impl_->bell->cancel();
  impl_->drop();
}

std::optional<TcpVitals> HttpClient::tcp_vitals() {
  return impl_->wire ? impl_->wire->tcp_vitals() : std::nullopt;
}

std::uint64_t HttpClient::connects() const { return impl_->connects; }

bool HttpClient::is_open() const { return impl_->wire && impl_->wire->is_open(); }

bool HttpClient::connected_but_unheard() const {
  return impl_->connected && (!impl_->parser || !impl_->parser->begun());
}

}  // namespace rookery::net
