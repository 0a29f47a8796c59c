// One connection to a make-believe board: reads requests, answers with stills, streams and faults.
#include <sys/socket.h>

#include <cerrno>

#include <boost/asio/experimental/awaitable_operators.hpp>

#include "sim/board_body.h"

namespace rookery::sim {
namespace {

using asio::use_awaitable;
using namespace asio::experimental::awaitable_operators;  // NOLINT(google-build-using-namespace)
namespace http = boost::beast::http;
constexpr auto kTuple = asio::as_tuple(use_awaitable);

constexpr std::uint64_t kHugeLength = 10'737'418'240;  // 10 GiB, what a broken header once declared
constexpr std::size_t kSegmentBytes = 1436;            // what one packet of a board carries (window 5744 / 4)
constexpr std::chrono::milliseconds kReadyPoll{20};
constexpr std::string_view kPage =
    "<!doctype html><title>Board</title><p>This board is being set up. Join its network first.</p>\n";

std::span<const std::uint8_t> bytes_of(std::string_view text) {
  return {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()};
}

// The first moment from `now` on that is `beat` after a multiple of `period`.
base::MonoTime next_beat(base::MonoTime now, base::MonoTime::duration period, base::MonoTime::duration beat) {
  const base::MonoTime::duration past = (now.time_since_epoch() - beat) % period;
  return past.count() <= 0 ? now - past : now + (period - past);
}

// Marks the session's server busy for as long as it lives, and wakes the next in line at its end.
class Turn {
 public:
  explicit Turn(BoardPort& port) : port_(port) { port_.busy = true; }
  Turn(const Turn&) = delete;
  Turn& operator=(const Turn&) = delete;
  ~Turn() {
    port_.busy = false;
    port_.changed.cancel();
  }

 private:
  BoardPort& port_;
};

}  // namespace

base::Microseconds Board::Body::since_boot() const {
  return std::chrono::duration_cast<base::Microseconds>(clock.mono() - booted);
}

Board::Body::Awaitable<bool> Board::Body::sleep(Ptr body, base::Microseconds time) {
  asio::steady_timer timer(body->strand, time);
  auto waiting = timer.async_wait(kTuple);
  const auto [error] = co_await std::move(waiting);
  co_return !error && !body->stopped;
}

Board::Body::Awaitable<bool> Board::Body::stall(Ptr body, double seconds) {
  const std::size_t event = body->faults->began(name_of(Fault::stall), seconds, body->wall());
  auto sleeping = sleep(body, base::Microseconds(static_cast<std::int64_t>(seconds * 1e6)));
  const bool on = co_await std::move(sleeping);
  body->faults->ended(event, body->wall());
  co_return on;
}

bool Board::Body::is_frozen(const Body& body, const BoardPort&) { return body.frozen; }

bool Board::Body::is_busy(const Body& body, const BoardPort& port) {
  return body.frozen || (body.options.one_viewer && port.busy);
}

Board::Body::Awaitable<bool> Board::Body::wait_while(Ptr body, BoardPort* port, Held held) {
  const std::uint64_t boot = body->boot;
  while (!body->stopped && body->boot == boot && held(*body, *port)) {
    auto waiting = port->changed.async_wait(kTuple);
    (void)co_await std::move(waiting);
  }
  co_return !body->stopped && body->boot == boot;
}

Board::Body::Awaitable<void> Board::Body::serve(Ptr body, SessionPtr session) {
  const std::uint64_t boot = body->boot;
  while (!body->stopped && session->socket.is_open()) {
    auto request = std::make_shared<Request>();
    auto reading = http::async_read(session->socket, session->buffer, *request, kTuple);
    const auto [error, size] = co_await std::move(reading);
    if (error || body->boot != boot) break;
    std::shared_ptr<const Request> asked = request;
    auto answering = answer(body, session, asked);
    if (!co_await std::move(answering)) break;
  }
  boost::system::error_code ignored;
  if (session->socket.is_open()) session->socket.shutdown(Tcp::socket::shutdown_both, ignored);
  session->socket.close(ignored);
  --session->port.open;
  session->port.changed.cancel();
}

std::pair<bool, bool> Board::Body::routes_of(std::string_view target) const {
  const std::string_view path = target.substr(0, target.find('?'));
  return {path == options.still_path, path == options.stream_path};
}

void Board::Body::sweep_viewers() {
  for (const auto& weak : sessions) {
    const SessionPtr session = weak.lock();
    if (!session || !session->streaming || !session->socket.is_open()) continue;
    char byte = 0;
    const auto got = ::recv(session->socket.native_handle(), &byte, 1, MSG_PEEK | MSG_DONTWAIT);
    if (got == 0 || (got < 0 && errno != EAGAIN && errno != EWOULDBLOCK)) leave_viewer(*session);
  }
}

void Board::Body::join_viewer(BoardSession& session) {
  sweep_viewers();
  session.streaming = true;
  const std::lock_guard lock(mutex);
  ++counts.stream_requests;
  ++counts.streams_now;
  counts.most_streams = std::max(counts.most_streams, counts.streams_now);
}

void Board::Body::leave_viewer(BoardSession& session) {
  if (!session.streaming) return;
  session.streaming = false;
  count(&BoardCounts::streams_now, -1);
}

// True: the connection may carry another request.
Board::Body::Awaitable<bool> Board::Body::answer(Ptr body, SessionPtr session,
                                                 std::shared_ptr<const Request> request) {
  const std::string_view target(request->target().data(), request->target().size());
  const auto [still, stream] = body->routes_of(target);
  const bool here = !body->options.one_port && still && &session->port == &body->stream_port;
  if (stream) body->join_viewer(*session);
  // Leaves the count right however this coroutine ends.
  const auto leave = [body](BoardSession* s) { body->leave_viewer(*s); };
  const std::unique_ptr<BoardSession, decltype(leave)> guard(session.get(), leave);

  auto waiting = wait_while(body, &session->port, is_busy);
  if (!co_await std::move(waiting)) co_return false;
  const Turn turn(session->port);
  if (!body->survive(body->faults->step(body->wall()))) co_return false;

  const auto field = request->find(http::field::authorization);
  const std::string authorization = field == request->end() ? "" : std::string(field->value());
  if (!body->door.admits(std::string_view(request->method_string().data(), request->method_string().size()),
                         target, authorization)) {
    body->count(&BoardCounts::denied);
    std::string refusal =
        text_response("401 Unauthorized", body->door.challenge(), "text/plain", "sign in\n");
    auto refusing = send_text(body, session, std::move(refusal));
    co_return co_await std::move(refusing);
  }
  std::string moved;
  if (target == body->options.redirect_path)
    moved = fmt::format("http://127.0.0.1:{}{}", body->stream_server().number, body->options.stream_path);
  if (target == "/loop") moved = "/loop";
  if (!moved.empty()) {
    std::string sending_on =
        text_response("302 Found", fmt::format("Location: {}\r\n", moved), "text/plain", "");
    auto moving = send_text(body, session, std::move(sending_on));
    co_return co_await std::move(moving);
  }
  if (still && !here) {
    auto answering = answer_still(body, session);
    co_return co_await std::move(answering);
  }
  if (target.substr(0, target.find('?')) == body->options.control_path &&
      &session->port == &body->still_port) {
    std::string done = body->control(target);
    auto answering = send_text(body, session, std::move(done));
    co_return co_await std::move(answering);
  }
  if (stream && &session->port == &body->stream_server()) {
    auto answering = answer_stream(body, session);
    co_return co_await std::move(answering);
  }
  std::string unknown = text_response("404 Not Found", "", "text/plain", "no such address on this board\n");
  auto answering = send_text(body, session, std::move(unknown));
  co_return co_await std::move(answering);
}

std::string Board::Body::control(std::string_view target) {
  const auto value_of = [&](std::string_view name) -> std::string {
    const std::string wanted = fmt::format("{}=", name);
    for (std::size_t at = target.find_first_of("?&"); at != target.npos; at = target.find('&', at + 1)) {
      if (target.substr(at + 1).starts_with(wanted)) {
        const std::string_view rest = target.substr(at + 1 + wanted.size());
        return std::string(rest.substr(0, rest.find('&')));
      }
    }
    return {};
  };
  const std::string key = value_of("key");
  if (key.empty()) return text_response("404 Not Found", "", "text/plain", "no key\n");
  if (key != "lamp") return text_response("500 Internal Server Error", "", "text/plain", "");
  const int value = std::atoi(value_of("value").c_str());
  {
    const std::lock_guard lock(mutex);
    ++counts.controls;
    counts.lamp = value;
  }
  if (options.on_lamp) options.on_lamp(value);
  return text_response("200 OK", "", "text/plain", "");
}

// What a board says that is not set up, or whose header has no end, in place of a picture.
Board::Body::Awaitable<bool> Board::Body::answer_no_picture(Ptr body, SessionPtr session, bool html) {
  if (html) {
    std::string page = text_response("200 OK", "", "text/html", kPage);
    auto sending = send_text(body, session, std::move(page));
    co_return co_await std::move(sending);
  }
  std::string opening = "HTTP/1.1 200 OK\r\nX-Pad: ";
  auto sending = send_rubbish(body, session, std::move(opening), 4096);
  co_return co_await std::move(sending);
}

// False when the board stops first.
Board::Body::Awaitable<bool> Board::Body::until_ready(Ptr body) {
  while (!body->source->ready()) {
    auto sleeping = sleep(body, kReadyPoll);
    if (!co_await std::move(sleeping)) co_return false;
  }
  co_return true;
}

Board::Body::Awaitable<bool> Board::Body::answer_still(Ptr body, SessionPtr session) {
  const ActiveFaults active = body->now_active;
  if (active.has(Fault::html) || active.has(Fault::endless_header)) {
    auto answering = answer_no_picture(body, session, active.has(Fault::html));
    co_return co_await std::move(answering);
  }
  if (active.has(Fault::stall)) {
    auto stalling = stall(body, active.strength(Fault::stall));
    if (!co_await std::move(stalling)) co_return false;
  }
  auto starting = until_ready(body);
  if (!co_await std::move(starting)) co_return false;
  const base::Microseconds stamp = body->since_boot();
  const FrameRequest request{body->wall(), stamp, body->boot, active};
  Bytes jpeg = body->source->next(request);
  if (!jpeg || jpeg->empty()) {
    std::string failure =
        text_response("500 Internal Server Error", "", "text/plain", "no picture from the sensor\n");
    auto failing = send_text(body, session, std::move(failure));
    (void)co_await std::move(failing);
    co_return false;
  }
  jpeg = damage_bytes(jpeg, active);
  if (active.has(Fault::huge_length)) {
    auto lying = send_rubbish(body, session, still_head(kHugeLength, stamp), 16384);
    co_return co_await std::move(lying);
  }
  auto opening = send_text(body, session, still_head(jpeg->size(), stamp));
  if (!co_await std::move(opening)) co_return false;
  const std::span<const std::uint8_t> span(*jpeg);
  auto sending = send(body, session, span);
  if (!co_await std::move(sending)) co_return false;
  body->count(&BoardCounts::stills_sent);
  co_return true;
}

Board::Body::Awaitable<bool> Board::Body::answer_stream(Ptr body, SessionPtr session) {
  const ActiveFaults active = body->now_active;
  if (active.has(Fault::html) || active.has(Fault::endless_header)) {
    auto answering = answer_no_picture(body, session, active.has(Fault::html));
    co_return co_await std::move(answering);
  }
  auto starting = until_ready(body);
  if (!co_await std::move(starting)) co_return false;
  auto streaming = stream_frames(body, session);
  co_await std::move(streaming);
  co_return false;
}

Board::Body::Awaitable<void> Board::Body::stream_frames(Ptr body, SessionPtr session) {
  const auto period = std::chrono::duration_cast<base::MonoTime::duration>(
      std::chrono::duration<double>(1 / body->options.frames_per_second));
  asio::steady_timer timer(body->strand);
  base::MonoTime due = body->clock.mono();
  if (body->options.beat) {
    due = next_beat(due, period, *body->options.beat);
    timer.expires_at(due);
    auto waiting = timer.async_wait(kTuple);
    const auto [error] = co_await std::move(waiting);
    if (error || body->stopped || !session->socket.is_open()) co_return;
  }
  ActiveFaults active = body->now_active;
  std::uint64_t sent = 0;
  for (;;) {
    if (active.has(Fault::stall)) {
      auto stalling = stall(body, active.strength(Fault::stall));
      if (!co_await std::move(stalling)) co_return;
    }
    auto thawing = wait_while(body, &session->port, is_frozen);
    if (!co_await std::move(thawing)) co_return;
    const FrameRequest request{body->wall(), body->since_boot(), body->boot, active};
    Bytes jpeg = body->source->next(request);
    // A board whose first picture fails closes without a byte of HTTP.
    if (!jpeg || jpeg->empty()) co_return;
    if (sent == 0) {
      auto opening = send_text(body, session, stream_head(body->options.framing, body->options.boundary));
      if (!co_await std::move(opening)) co_return;
      body->count(&BoardCounts::streams_served);
    }
    Bytes damaged = damage_bytes(jpeg, active);
    auto sending = send_frame(body, session, damaged, active);
    if (!co_await std::move(sending)) co_return;
    ++sent;
    if (sent == body->options.frames_until_close) {
      if (is_chunked(body->options.framing)) {
        auto closing = send_text(body, session, "0\r\n\r\n");
        (void)co_await std::move(closing);
      }
      co_return;
    }
    due = std::max(due + period, body->clock.mono());
    timer.expires_at(due);
    auto waiting = timer.async_wait(kTuple);
    const auto [error] = co_await std::move(waiting);
    if (error || body->stopped || !session->socket.is_open()) co_return;
    active = body->faults->step(body->wall());
    if (!body->survive(active)) co_return;
  }
}

Board::Body::Awaitable<bool> Board::Body::send_frame(Ptr body, SessionPtr session, Bytes jpeg,
                                                     ActiveFaults active) {
  const std::string_view boundary = body->options.boundary;
  const base::Microseconds stamp = body->since_boot();
  if (active.has(Fault::huge_length)) {
    const Wrapping lie = wrap_frame(body->options.framing, boundary, kHugeLength, kHugeLength, stamp);
    auto lying = send_rubbish(body, session, lie.before, 16384);
    co_return co_await std::move(lying);
  }
  const Wrapping wrap = wrap_frame(body->options.framing, boundary, jpeg->size(), jpeg->size(), stamp);
  auto opening = send_text(body, session, wrap.before);
  if (!co_await std::move(opening)) co_return false;
  const std::span<const std::uint8_t> span(*jpeg);
  auto sending = send(body, session, span);
  if (!co_await std::move(sending)) co_return false;
  {
    const std::lock_guard lock(body->mutex);
    ++body->counts.frames_sent;
    if (body->options.record_hashes) body->hashes.push_back(fnv1a64(*jpeg));
  }
  auto closing = send_text(body, session, wrap.after);
  co_return co_await std::move(closing);
}

// `first`, and then blocks without end (about 100 a second) until the other side has had enough. Always
// false.
Board::Body::Awaitable<bool> Board::Body::send_rubbish(Ptr body, SessionPtr session, std::string first,
                                                       std::size_t block_bytes) {
  auto opening = send_text(body, session, first);
  bool taken = co_await std::move(opening);
  const std::string block(block_bytes, 'a');
  while (taken) {
    auto sending = send_text(body, session, block);
    if (!co_await std::move(sending)) break;
    auto sleeping = sleep(body, std::chrono::milliseconds(10));
    taken = co_await std::move(sleeping);
  }
  co_return false;
}

Board::Body::Awaitable<bool> Board::Body::send_text(Ptr body, SessionPtr session, std::string text) {
  const std::span<const std::uint8_t> span = bytes_of(text);
  auto sending = send(body, session, span);
  co_return co_await std::move(sending);
}

// Everything goes through here, so that radio and trickle hold back each byte alike.
Board::Body::Awaitable<bool> Board::Body::send(Ptr body, SessionPtr session,
                                               std::span<const std::uint8_t> bytes) {
  while (!bytes.empty()) {
    std::size_t slice = bytes.size();
    base::Microseconds wait{};
    if (body->now_active.has(Fault::slow_loris)) {
      slice = 1;
      wait = base::Microseconds(
          static_cast<std::int64_t>(1e6 / body->now_active.strength(Fault::slow_loris, 20)));
    } else if (body->radio) {
      slice = std::min(slice, kSegmentBytes);
      wait = body->radio->delay_for(slice, body->clock.mono());
    }
    if (wait > base::Microseconds{}) {
      auto sleeping = sleep(body, wait);
      if (!co_await std::move(sleeping)) co_return false;
    }
    const std::span<const std::uint8_t> part = bytes.first(slice);
    auto sending = send_slice(body, session, part);
    if (!co_await std::move(sending)) co_return false;
    bytes = bytes.subspan(slice);
  }
  co_return true;
}

Board::Body::Awaitable<bool> Board::Body::send_slice(Ptr body, SessionPtr session,
                                                     std::span<const std::uint8_t> bytes) {
  if (!session->socket.is_open()) co_return false;
  asio::steady_timer deadline(body->strand, body->options.send_timeout);
  const asio::const_buffer buffer(bytes.data(), bytes.size());
  auto writing = asio::async_write(session->socket, buffer, kTuple);
  auto waiting = deadline.async_wait(kTuple);
  auto either = std::move(writing) || std::move(waiting);
  const auto outcome = co_await std::move(either);
  if (outcome.index() == 1) co_return false;
  co_return !std::get<0>(std::get<0>(outcome)) && !body->stopped;
}

}  // namespace rookery::sim
