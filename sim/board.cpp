#include "sim/board.h"

#include <algorithm>

#include "base/log.h"
#include "sim/board_body.h"

namespace rookery::sim {
namespace {

using asio::use_awaitable;
constexpr auto kTuple = asio::as_tuple(use_awaitable);

// How often a board without a viewer looks whether its supply or its chip fails.
constexpr std::chrono::milliseconds kWatchPeriod{100};

base::Result<void> listen_on(BoardPort& port, std::uint16_t wanted, const std::string& name) {
  boost::system::error_code error;
  const Tcp::endpoint here(asio::ip::address_v4::loopback(), wanted);
  port.acceptor.open(here.protocol(), error);
  if (!error) port.acceptor.set_option(Tcp::acceptor::reuse_address(true), error);
  if (!error) port.acceptor.bind(here, error);
  if (!error) port.acceptor.listen(asio::socket_base::max_listen_connections, error);
  if (error) {
    boost::system::error_code ignored;
    port.acceptor.close(ignored);
    return base::Error{base::ErrorCode::io,
                       fmt::format("make-believe board {}: listen on 127.0.0.1:{}", name, wanted),
                       error.message(), "Choose a free port, or 0 to let the computer choose"};
  }
  // Once: the same number comes again after a power cut, and addresses are asked for from any thread.
  if (port.number == 0) port.number = port.acceptor.local_endpoint().port();
  return base::ok();
}

}  // namespace

void report_end(const std::string& name, std::exception_ptr failure) {
  if (!failure) return;
  try {
    std::rethrow_exception(failure);
  } catch (const std::exception& e) {
    base::log_warning(name, "make-believe board: {}", e.what());
  }
}

Board::Body::Body(asio::any_io_executor executor, BoardOptions options_, std::shared_ptr<FrameSource> source_,
                  std::shared_ptr<Faults> faults_)
    : options(std::move(options_)),
      source(std::move(source_)),
      faults(std::move(faults_)),
      door(options.sign_in, options.user, options.password,
           fmt::format("{:016x}", options.seed * 0x9E3779B97F4A7C15ULL)),
      strand(asio::make_strand(executor)),
      still_port(strand),
      stream_port(strand) {
  for (BoardPort* port : {&still_port, &stream_port}) port->changed.expires_at(base::MonoTime::max());
}

base::Result<void> Board::Body::open() {
  auto first =
      listen_on(still_port, still_port.number ? still_port.number : options.still_port, options.name);
  if (!first) return first;
  if (options.one_port) return base::ok();
  return listen_on(stream_port, stream_port.number ? stream_port.number : options.stream_port, options.name);
}

void Board::Body::run() {
  ++boot;
  booted = clock.mono();
  count(&BoardCounts::boots);
  const std::string name = options.name;
  for (BoardPort* port : {&still_port, &stream_port}) {
    port->busy = false;
    if (!port->acceptor.is_open()) continue;
    asio::co_spawn(strand, accept_all(shared_from_this(), port, boot),
                   [name](std::exception_ptr failure) { report_end(name, failure); });
  }
}

bool Board::Body::is_full(const Body& body, const BoardPort& port) {
  return body.frozen || port.open >= body.options.sockets;
}

void Board::Body::remember(const SessionPtr& session) {
  sessions.remove_if([](const auto& old) { return old.expired(); });
  sessions.push_back(session);
}

Board::Body::Awaitable<void> Board::Body::accept_all(Ptr body, BoardPort* port, std::uint64_t boot) {
  while (!body->stopped && body->boot == boot) {
    auto waiting = wait_while(body, port, is_full);
    if (!co_await std::move(waiting)) co_return;
    if (body->boot != boot || !port->acceptor.is_open()) co_return;
    auto accepting = port->acceptor.async_accept(kTuple);
    auto [error, socket] = co_await std::move(accepting);
    if (error == asio::error::operation_aborted || body->stopped || body->boot != boot) co_return;
    if (error) continue;
    boost::system::error_code ignored;
    socket.set_option(Tcp::no_delay(true), ignored);
    auto session = std::make_shared<BoardSession>(std::move(socket), *port);
    body->remember(session);
    body->count(&BoardCounts::connections);
    ++port->open;
    const std::string name = body->options.name;
    asio::co_spawn(body->strand, serve(body, session),
                   [name](std::exception_ptr failure) { report_end(name, failure); });
  }
}

Board::Body::Awaitable<void> Board::Body::watch_faults(Ptr body) {
  while (!body->stopped) {
    body->sweep_viewers();
    const ActiveFaults active = body->faults->look(body->wall());
    if (!body->down) (void)body->survive(active);
    auto sleeping = sleep(body, kWatchPeriod);
    if (!co_await std::move(sleeping)) co_return;
  }
}

bool Board::Body::survive(const ActiveFaults& active) {
  now_active = active;
  if (active.has(Fault::slow_radio)) {
    if (!radio) radio.emplace(options.seed, active.strength(Fault::slow_radio));
    radio->set_rate(active.strength(Fault::slow_radio));
  } else {
    radio.reset();
  }
  // Once frozen only a power cycle thaws it.
  if (active.has(Fault::freeze) && !frozen) {
    frozen = true;
    freeze_event = faults->began(name_of(Fault::freeze), 1, wall());
  }
  if (active.has(Fault::brown_out)) {
    faults->done(Fault::brown_out, wall());
    go_down(std::chrono::milliseconds(static_cast<int>(active.strength(Fault::brown_out) * 1000)),
            name_of(Fault::brown_out));
    return false;
  }
  if (active.has(Fault::reset)) {
    faults->done(Fault::reset, wall());
    faults->ended(faults->began(name_of(Fault::reset), 1, wall()), wall());
    reset_connections();
    return false;
  }
  return true;
}

void Board::Body::wake_all() {
  still_port.changed.cancel();
  stream_port.changed.cancel();
}

void Board::Body::reset_connections() {
  for (const auto& weak : sessions) {
    const SessionPtr session = weak.lock();
    if (!session) continue;
    boost::system::error_code ignored;
    session->socket.set_option(asio::socket_base::linger(true, 0), ignored);
    session->socket.close(ignored);
  }
  sessions.clear();
  wake_all();
}

void Board::Body::shut() {
  stopped = true;
  boost::system::error_code ignored;
  still_port.acceptor.close(ignored);
  stream_port.acceptor.close(ignored);
  reset_connections();
}

void Board::Body::go_down(std::chrono::milliseconds off, std::string_view why) {
  if (down || stopped) return;
  down = true;
  if (frozen) faults->ended(freeze_event, wall());
  const std::size_t event = faults->began(why, std::chrono::duration<double>(off).count(), wall());
  boost::system::error_code ignored;
  still_port.acceptor.close(ignored);
  stream_port.acceptor.close(ignored);
  reset_connections();
  const std::string name = options.name;
  asio::co_spawn(strand, come_back(shared_from_this(), off, event),
                 [name](std::exception_ptr failure) { report_end(name, failure); });
}

Board::Body::Awaitable<void> Board::Body::come_back(Ptr body, std::chrono::milliseconds off,
                                                    std::size_t event) {
  auto sleeping = sleep(body, off);
  if (!co_await std::move(sleeping)) co_return;
  body->frozen = false;
  body->down = false;
  const base::Result<void> opened = body->open();
  if (!opened) {
    // Somebody took the port meanwhile: the board stays away, which is what its station has to bear anyway.
    base::log_warning(body->options.name, "{}", opened.error().text());
    co_return;
  }
  body->faults->ended(event, body->wall());
  body->run();
}

void Board::Body::count(std::uint64_t BoardCounts::*which, std::int64_t by) {
  const std::lock_guard lock(mutex);
  counts.*which += static_cast<std::uint64_t>(by);
}

Board::Board(boost::asio::any_io_executor executor, BoardOptions options, std::shared_ptr<FrameSource> source,
             std::shared_ptr<Faults> faults)
    : body_(std::make_shared<Body>(std::move(executor), std::move(options), std::move(source),
                                   std::move(faults))) {}

Board::~Board() { stop(); }

base::Result<void> Board::start() {
  auto opened = body_->open();
  if (!opened) return opened;
  const std::shared_ptr<Body> body = body_;
  asio::post(body->strand, [body] {
    if (body->stopped) return;
    body->run();
    const std::string name = body->options.name;
    asio::co_spawn(body->strand, Body::watch_faults(body),
                   [name](std::exception_ptr failure) { report_end(name, failure); });
  });
  return opened;
}

void Board::stop() {
  asio::post(body_->strand, [body = body_] { body->shut(); });
}

void Board::cycle_power(std::chrono::milliseconds off) {
  asio::post(body_->strand, [body = body_, off] { body->go_down(off, "power-cut"); });
}

std::string Board::stream_address() const {
  return fmt::format("http://127.0.0.1:{}{}", body_->stream_server().number, body_->options.stream_path);
}

std::string Board::still_address() const {
  return fmt::format("http://127.0.0.1:{}{}", body_->still_port.number, body_->options.still_path);
}

std::string Board::redirect_address() const {
  return fmt::format("http://127.0.0.1:{}{}", body_->stream_server().number, body_->options.redirect_path);
}

BoardCounts Board::counts() const {
  const std::lock_guard lock(body_->mutex);
  return body_->counts;
}

std::vector<std::uint64_t> Board::sent_hashes() const {
  const std::lock_guard lock(body_->mutex);
  return body_->hashes;
}

Faults& Board::faults() { return *body_->faults; }

std::vector<TruthEvent> Board::truth() const {
  std::vector<TruthEvent> all = body_->source->truth();
  const std::vector<TruthEvent> faults = body_->faults->truth();
  all.insert(all.end(), faults.begin(), faults.end());
  std::stable_sort(all.begin(), all.end(), [](const auto& a, const auto& b) { return a.start < b.start; });
  return all;
}

std::uint64_t fnv1a64(const std::vector<std::uint8_t>& bytes) {
  std::uint64_t hash = 0xCBF29CE484222325ULL;
  for (const std::uint8_t byte : bytes) hash = (hash ^ byte) * 0x100000001B3ULL;
  return hash;
}

}  // namespace rookery::sim
