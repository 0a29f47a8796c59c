// The inside of a make-believe board; only board*.cpp include this.
#pragma once

#include <list>
#include <mutex>
#include <string>

#include <boost/asio.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/http.hpp>

#include "sim/board.h"

namespace rookery::sim {

namespace asio = boost::asio;
using Tcp = asio::ip::tcp;
using Request = boost::beast::http::request<boost::beast::http::empty_body>;

// One of a board's servers: it does one thing at a time.
struct BoardPort {
  explicit BoardPort(asio::any_io_executor executor) : acceptor(executor), changed(executor) {}
  Tcp::acceptor acceptor;
  asio::steady_timer changed;  // never expires; cancelled to wake whoever waits for a change of state
  std::uint16_t number = 0;
  bool busy = false;
  int open = 0;
};

// One accepted connection.
struct BoardSession {
  BoardSession(Tcp::socket socket_, BoardPort& port_) : socket(std::move(socket_)), port(port_) {}
  Tcp::socket socket;
  BoardPort& port;  // lives as long as the body, which every coroutine holds
  boost::beast::flat_buffer buffer;
  bool streaming = false;  // has asked for the stream and has not left, as far as we know
};
using SessionPtr = std::shared_ptr<BoardSession>;

// All members belong to `strand` unless said otherwise.
struct Board::Body : std::enable_shared_from_this<Board::Body> {
  Body(asio::any_io_executor executor, BoardOptions options_, std::shared_ptr<FrameSource> source_,
       std::shared_ptr<Faults> faults_);

  using Ptr = std::shared_ptr<Body>;
  template <class T>
  using Awaitable = asio::awaitable<T>;

  // board.cpp: life of the whole.
  base::Result<void> open();
  void run();
  void shut();
  void go_down(std::chrono::milliseconds off, std::string_view why);
  void reset_connections();
  void wake_all();
  static Awaitable<void> come_back(Ptr body, std::chrono::milliseconds off, std::size_t event);
  static Awaitable<void> watch_faults(Ptr body);
  static Awaitable<void> accept_all(Ptr body, BoardPort* port, std::uint64_t boot);

  // board_session.cpp: one connection.
  static Awaitable<void> serve(Ptr body, SessionPtr session);
  static Awaitable<bool> answer(Ptr body, SessionPtr session, std::shared_ptr<const Request> request);
  static Awaitable<bool> answer_no_picture(Ptr body, SessionPtr session, bool html);
  static Awaitable<bool> until_ready(Ptr body);
  static Awaitable<bool> answer_still(Ptr body, SessionPtr session);
  static Awaitable<bool> answer_stream(Ptr body, SessionPtr session);
  static Awaitable<void> stream_frames(Ptr body, SessionPtr session);
  static Awaitable<bool> send_frame(Ptr body, SessionPtr session, Bytes jpeg, ActiveFaults active);
  static Awaitable<bool> send_rubbish(Ptr body, SessionPtr session, std::string first,
                                      std::size_t block_bytes);
  static Awaitable<bool> send(Ptr body, SessionPtr session, std::span<const std::uint8_t> bytes);
  static Awaitable<bool> send_text(Ptr body, SessionPtr session, std::string text);
  static Awaitable<bool> send_slice(Ptr body, SessionPtr session, std::span<const std::uint8_t> bytes);
  // Why one of a board's servers does not go on: for wait_while.
  using Held = bool (*)(const Body&, const BoardPort&);
  static bool is_frozen(const Body& body, const BoardPort& port);
  static bool is_busy(const Body& body, const BoardPort& port);
  static bool is_full(const Body& body, const BoardPort& port);
  static Awaitable<bool> wait_while(Ptr body, BoardPort* port, Held held);
  static Awaitable<bool> sleep(Ptr body, base::Microseconds time);
  // Stands still for as many seconds.
  static Awaitable<bool> stall(Ptr body, double seconds);
  // Acts on the faults that concern the whole board. False: this connection is over.
  bool survive(const ActiveFaults& active);
  std::pair<bool, bool> routes_of(std::string_view target) const;
  // Does what a control request asks; the whole response.
  std::string control(std::string_view target);
  base::Microseconds since_boot() const;
  base::WallTime wall() const { return clock.wall(); }
  // Notices stream viewers that have closed, so that counts tell what the other side really holds open.
  void sweep_viewers();
  void remember(const SessionPtr& session);
  void join_viewer(BoardSession& session);
  void leave_viewer(BoardSession& session);
  void count(std::uint64_t BoardCounts::*which, std::int64_t by = 1);
  BoardPort& stream_server() { return options.one_port ? still_port : stream_port; }

  const BoardOptions options;
  const std::shared_ptr<FrameSource> source;  // next() on the strand only
  const std::shared_ptr<Faults> faults;       // any-thread
  const Door door;
  const base::SystemClock clock;
  asio::strand<asio::any_io_executor> strand;
  BoardPort still_port;
  BoardPort stream_port;
  std::list<std::weak_ptr<BoardSession>> sessions;
  std::optional<Radio> radio;
  ActiveFaults now_active;
  base::MonoTime booted{};
  std::uint64_t boot = 0;  // which boot this is; coroutines of an older one end
  bool down = false;
  bool frozen = false;
  std::size_t freeze_event = 0;  // of the truth, while frozen
  bool stopped = false;

  mutable std::mutex mutex;  // guards what follows
  BoardCounts counts;
  std::vector<std::uint64_t> hashes;
};

// What becomes of an exception that ends one of a board's coroutines: one line in the log.
void report_end(const std::string& name, std::exception_ptr failure);

}  // namespace rookery::sim
