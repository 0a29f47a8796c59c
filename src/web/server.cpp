#include "web/server.h"

#include <algorithm>
#include <condition_variable>
#include <unordered_map>
#include <unordered_set>

#include <boost/asio/bind_cancellation_slot.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/strand.hpp>
#include <boost/asio/use_awaitable.hpp>

#include "base/log.h"
#include "web/connection.h"
#include "web/on_workers.h"
#include "web/problem.h"

namespace rookery::web {
namespace asio = boost::asio;
using asio::ip::tcp;
using base::Error;
using base::ErrorCode;
using boost::system::error_code;
namespace {

std::string text_of(const tcp::endpoint& endpoint) {
  const bool v6 = endpoint.address().is_v6();
  return fmt::format("{}{}{}:{}", v6 ? "[" : "", endpoint.address().to_string(), v6 ? "]" : "",
                     endpoint.port());
}

Error listen_error(const tcp::endpoint& endpoint, const error_code& error) {
  const std::string where = "listen on " + text_of(endpoint);
  if (error == asio::error::address_in_use) {
    return Error(ErrorCode::busy, where, "another program listens there already",
                 fmt::format("Choose another port with --listen, or end the other program (`ss -ltnp sport = "
                             ":{}` names it).",
                             endpoint.port()));
  }
  if (error == asio::error::access_denied) {
    return Error(ErrorCode::no_permission, where, "the system does not allow this port",
                 "Ports below 1024 are for the administrator: choose another, such as 7420.");
  }
  if (error.value() == EADDRNOTAVAIL) {
    return Error(ErrorCode::invalid_value, where, "this computer does not have that address",
                 "Use 127.0.0.1, 0.0.0.0, or an address that `ip address` shows.");
  }
  return Error(ErrorCode::io, where, error.message());
}

// What the station itself needs of the process's file descriptors: the catalog's connections (three files
// each, at most one a worker, the writer, and the idle ones), exports, the log, Asio. And for each camera its
// board, its segment, and the next of both while they change.
constexpr std::size_t kOwnDescriptors = 96;
constexpr std::size_t kCameraDescriptors = 4;
constexpr std::size_t kViewersAlways = 16;
// Connections that were told to end and have not yet, when the house is full.
constexpr std::size_t kLeavingMost = 16;

// Too many connections: said in one write that does not wait, then closed.
void turn_away(tcp::socket socket) {
  Response full = problem(Error(ErrorCode::busy, "the station", "it has as many viewers as it takes",
                                "Try again in 10 s, or close pages and programs that watch."),
                          http::status::service_unavailable);
  full.set("Retry-After", "10");
  const std::string text = head_text(full, false, true) + std::get<std::string>(full.body);
  error_code ignored;
  socket.non_blocking(true, ignored);
  socket.write_some(asio::buffer(text), ignored);
  socket.shutdown(tcp::socket::shutdown_send, ignored);
}

}  // namespace

class Server::Impl : public std::enable_shared_from_this<Server::Impl> {
 public:
  Impl(asio::io_context& io, station::Station& station, ServerOptions options)
      : io_(io), station_(station), options_(std::move(options)) {}

  base::Result<void> start();
  void stop();
  tcp::endpoint local_endpoint() const { return local_; }
  std::size_t connections() const {
    const std::scoped_lock lock(mutex_);
    return connections_.size();
  }

 private:
  // An acceptor with the signal that ends its loop; both belong to the acceptor's strand.
  struct Door {
    explicit Door(tcp::acceptor acceptor_) : acceptor(std::move(acceptor_)) {}
    tcp::acceptor acceptor;
    asio::cancellation_signal cancel;
  };

  base::Result<std::unique_ptr<Door>> open(const tcp::endpoint& endpoint);
  void run_task(asio::any_io_executor executor, asio::cancellation_signal& cancel,
                asio::awaitable<void> task);
  asio::awaitable<void> accept(Door& door);
  asio::awaitable<void> watch();
  std::size_t most_connections() const;
  std::shared_ptr<Connection> stranger_to_leave() const;
  void admit(tcp::socket socket);
  void leave(const std::shared_ptr<Connection>& connection, std::exception_ptr thrown);
  std::vector<std::shared_ptr<Connection>> all() const;
  void task_ended();

  asio::io_context& io_;
  station::Station& station_;
  const ServerOptions options_;
  std::shared_ptr<Services> services_;
  std::vector<std::unique_ptr<Door>> doors_;
  tcp::endpoint local_;
  asio::any_io_executor watch_strand_;
  asio::cancellation_signal watch_cancel_;

  mutable std::mutex mutex_;
  std::condition_variable emptier_;
  std::unordered_set<std::shared_ptr<Connection>> connections_;
  std::unordered_set<std::shared_ptr<Connection>> leaving_;  // of these: made to give way
  std::size_t tasks_ = 0;
  bool stopping_ = false;
};

base::Result<std::unique_ptr<Server::Impl::Door>> Server::Impl::open(const tcp::endpoint& endpoint) {
  tcp::acceptor acceptor(asio::make_strand(io_));
  error_code error;
  acceptor.open(endpoint.protocol(), error);
  if (!error) acceptor.set_option(tcp::acceptor::reuse_address(true), error);
  if (!error && endpoint.address().is_v6()) acceptor.set_option(asio::ip::v6_only(true), error);
  if (!error) acceptor.bind(endpoint, error);
  if (!error) acceptor.listen(tcp::acceptor::max_listen_connections, error);
  if (error) return listen_error(endpoint, error);
  return std::make_unique<Door>(std::move(acceptor));
}

base::Result<void> Server::Impl::start() {
  if (options_.listen.empty()) {
    return Error(ErrorCode::invalid_value, "listen", "no address to listen on was given",
                 "Give one with --listen, such as 127.0.0.1:7420.");
  }
  std::vector<std::unique_ptr<Door>> doors;
  bool loopback = true;
  for (const tcp::endpoint& endpoint : options_.listen) {
    auto door = open(endpoint);
    if (!door) return std::move(door).error();
    doors.push_back(std::move(*door));
    loopback = loopback && endpoint.address().is_loopback();
  }
  error_code ignored;
  local_ = doors.front()->acceptor.local_endpoint(ignored);
  services_ = std::make_shared<Services>(station_, options_, loopback);
  doors_ = std::move(doors);
  watch_strand_ = asio::make_strand(io_);
  for (const auto& door : doors_) run_task(door->acceptor.get_executor(), door->cancel, accept(*door));
  run_task(watch_strand_, watch_cancel_, watch());
  return base::ok();
}

void Server::Impl::run_task(asio::any_io_executor executor, asio::cancellation_signal& cancel,
                            asio::awaitable<void> task) {
  {
    const std::scoped_lock lock(mutex_);
    ++tasks_;
  }
  auto ended = [self = shared_from_this()](std::exception_ptr thrown) {
    try {
      if (thrown) std::rethrow_exception(thrown);
    } catch (const boost::system::system_error& error) {
      if (error.code() != asio::error::operation_aborted) base::log_error("web", "{}", error.what());
    } catch (const std::exception& error) {
      base::log_error("web", "{}", error.what());
    }
    self->task_ended();
  };
  asio::co_spawn(executor, std::move(task), asio::bind_cancellation_slot(cancel.slot(), std::move(ended)));
}

void Server::Impl::task_ended() {
  const std::scoped_lock lock(mutex_);
  --tasks_;
  emptier_.notify_all();
}

// Lent: doors_ does not change after start(), and what run_task() has called at the end holds the server.
asio::awaitable<void> Server::Impl::accept(Door& door) {
  asio::steady_timer pause(door.acceptor.get_executor());
  for (;;) {
    error_code error;
    auto strand = asio::make_strand(io_);
    auto accepting = door.acceptor.async_accept(strand, asio::redirect_error(asio::use_awaitable, error));
    tcp::socket socket = co_await std::move(accepting);
    if (!error) {
      admit(std::move(socket));
      continue;
    }
    if (error == asio::error::operation_aborted) co_return;
    // Out of file descriptors, most likely. Those that wait stay in the system's queue meanwhile.
    base::log_warning("web", "cannot take another viewer: {}", error.message());
    pause.expires_after(std::chrono::milliseconds{200});
    auto pausing = pause.async_wait(asio::use_awaitable);
    co_await std::move(pausing);
  }
}

std::size_t Server::Impl::most_connections() const {
  const ServerLimits& limits = options_.limits;
  if (limits.descriptors == 0) return limits.connections_most;
  const std::size_t own = kOwnDescriptors + kCameraDescriptors * station_.camera_count();
  const std::size_t left = limits.descriptors > own ? limits.descriptors - own : 0;
  return std::min(limits.connections_most, std::max(left, kViewersAlways));
}

// Whoever has not shown that they may come in gives way to whoever comes: of the address that has most of
// them, the one that has waited longest. So one computer that only holds connections open keeps no person
// out. Null when all are let in. Called with the mutex held.
std::shared_ptr<Connection> Server::Impl::stranger_to_leave() const {
  struct Group {
    std::size_t count = 0;
    base::MonoTime oldest;
    std::shared_ptr<Connection> first;
  };
  std::unordered_map<std::string_view, Group> groups;
  for (const auto& connection : connections_) {
    const auto since = connection->stranger_since();
    if (!since || leaving_.contains(connection)) continue;
    Group& group = groups[connection->address()];
    ++group.count;
    if (group.first && group.oldest <= *since) continue;
    group.oldest = *since;
    group.first = connection;
  }
  const auto largest =
      std::ranges::max_element(groups, {}, [](const auto& group) { return group.second.count; });
  return largest == groups.end() ? nullptr : largest->second.first;
}

void Server::Impl::admit(tcp::socket socket) {
  const std::size_t most = most_connections();
  std::shared_ptr<Connection> gives_way;
  std::unique_lock lock(mutex_);
  if (stopping_) return;
  bool room = connections_.size() < most;
  if (!room && leaving_.size() < kLeavingMost) {
    gives_way = stranger_to_leave();
    if (gives_way) leaving_.insert(gives_way);
    room = gives_way != nullptr;
  }
  if (!room) {
    lock.unlock();
    turn_away(std::move(socket));
    return;
  }
  const auto connection = std::make_shared<Connection>(services_, std::move(socket));
  connections_.insert(connection);
  lock.unlock();
  if (gives_way) gives_way->end();
  auto begin = [self = shared_from_this(), connection] {
    auto ended = [self, connection](std::exception_ptr thrown) { self->leave(connection, thrown); };
    asio::co_spawn(connection->executor(), connection->run(),
                   asio::bind_cancellation_slot(connection->slot(), std::move(ended)));
  };
  asio::dispatch(connection->executor(), std::move(begin));
}

void Server::Impl::leave(const std::shared_ptr<Connection>& connection, std::exception_ptr thrown) {
  try {
    if (thrown) std::rethrow_exception(thrown);
  } catch (const boost::system::system_error&) {  // the viewer left, or was made to
  } catch (const std::exception& error) {
    base::log_error("web", "a connection failed: {}", error.what());
  }
  const std::scoped_lock lock(mutex_);
  connections_.erase(connection);
  leaving_.erase(connection);
  emptier_.notify_all();
}

std::vector<std::shared_ptr<Connection>> Server::Impl::all() const {
  const std::scoped_lock lock(mutex_);
  return {connections_.begin(), connections_.end()};
}

// Looks after all connections: cuts the stalled, and asks again whether streams may go on, when people,
// sessions or tokens changed, and once a minute because sessions run out.
asio::awaitable<void> Server::Impl::watch() {
  asio::steady_timer timer(watch_strand_);
  std::int64_t version = 0;
  std::uint64_t epoch = services_->access_epoch.load();
  base::MonoTime asked = station_.clock().mono();
  for (;;) {
    timer.expires_after(options_.limits.tick);
    auto ticking = timer.async_wait(asio::use_awaitable);
    co_await std::move(ticking);
    for (const auto& connection : all()) connection->tick(std::chrono::steady_clock::now());

    auto look = [this] { return station_.catalog().settings_version(); };
    auto looking = run_on(station_.asking(), std::move(look));
    const std::int64_t version_now = co_await std::move(looking);
    const std::uint64_t epoch_now = services_->access_epoch.load();
    const base::MonoTime now = station_.clock().mono();
    if (version_now == version && epoch_now == epoch && now - asked < std::chrono::minutes{1}) continue;
    version = version_now;
    epoch = epoch_now;
    asked = now;
    auto ask = [this] {
      for (const auto& connection : all()) connection->ask_again();
      return true;
    };
    auto asking = run_on(station_.asking(), std::move(ask));
    co_await std::move(asking);
  }
}

void Server::Impl::stop() {
  {
    const std::scoped_lock lock(mutex_);
    if (!services_ || stopping_) return;
    stopping_ = true;
  }
  for (const auto& door : doors_) {
    asio::post(door->acceptor.get_executor(), [self = shared_from_this(), one = door.get()] {
      error_code ignored;
      one->cancel.emit(asio::cancellation_type::terminal);
      one->acceptor.close(ignored);
    });
  }
  asio::post(watch_strand_,
             [self = shared_from_this()] { self->watch_cancel_.emit(asio::cancellation_type::terminal); });
  for (const auto& connection : all()) connection->end_gently();
  std::unique_lock lock(mutex_);
  const auto empty = [this] { return connections_.empty() && tasks_ == 0; };
  if (emptier_.wait_for(lock, options_.limits.grace, empty)) return;
  lock.unlock();
  for (const auto& connection : all()) connection->end();
  lock.lock();
  emptier_.wait(lock, empty);
}

Server::Server(asio::io_context& io, station::Station& station, ServerOptions options)
    : impl_(std::make_shared<Impl>(io, station, std::move(options))) {}
Server::~Server() { stop(); }
base::Result<void> Server::start() { return impl_->start(); }
void Server::stop() { impl_->stop(); }
tcp::endpoint Server::local_endpoint() const { return impl_->local_endpoint(); }
std::size_t Server::connections() const { return impl_->connections(); }

}  // namespace rookery::web
