// Connection: one viewer's TCP connection. Reads requests, has them answered, writes; knows all time limits.
#pragma once

#include <atomic>
#include <functional>
#include <memory>

#include <boost/asio/awaitable.hpp>
#include <boost/asio/cancellation_signal.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/http/parser.hpp>
#include <boost/beast/http/string_body.hpp>

#include "web/router.h"
#include "web/services.h"

namespace rookery::web {

// As the connection's atomics hold times.
inline std::int64_t nanoseconds(base::MonoTime time) {
  return std::chrono::duration_cast<std::chrono::nanoseconds>(time.time_since_epoch()).count();
}

// The one place that says what carries HTTP. TLS would be a stream of the same shape around it.
using Carrier = boost::beast::tcp_stream;

// strand-bound to its carrier's executor, except where a function says any-thread.
class Connection : public std::enable_shared_from_this<Connection> {
 public:
  Connection(std::shared_ptr<Services> services, boost::asio::ip::tcp::socket socket);
  Connection(const Connection&) = delete;
  Connection& operator=(const Connection&) = delete;

  // Answers requests until the connection ends. The caller binds slot() to it.
  boost::asio::awaitable<void> run();
  boost::asio::cancellation_slot slot() { return cancel_.slot(); }
  boost::asio::any_io_executor executor() { return carrier_.get_executor(); }

  // any-thread: ends it now; or when the answer under way is written (streams and idle ones end at once).
  void end();
  void end_gently();
  // Called every limits.tick by one thread at a time: ends a viewer who takes no bytes, and one who left a
  // stream that brings nothing to notice it by.
  void tick(base::MonoTime now);
  // any-thread, blocks: for a stream, whether its caller may go on. Ends it when not.
  void ask_again();

  // any-thread. Since when this connection has been waiting for a request though nobody on it ever showed
  // that they may come in (a session, a token); nothing for all others. And the address that it counts for.
  std::optional<base::MonoTime> stranger_since() const;
  const std::string& address() const& { return address_; }

  // For handlers that stream. ---------------------------------------------------------------------
  // From here on this is a stream: `still_allowed` is asked on a worker whenever access may have changed.
  void become_stream(std::function<bool()> still_allowed);
  // Writes all of it; false when the viewer has gone. Each byte taken pushes the time limit back.
  boost::asio::awaitable<bool> write(std::array<boost::asio::const_buffer, 3> pieces);
  // The same without waiting: done (true), gone (false), or nothing when the rest in `pieces` must wait.
  std::optional<bool> try_write(std::array<boost::asio::const_buffer, 3>& pieces);
  // Writes a whole answer. False when the viewer has gone.
  boost::asio::awaitable<bool> respond(Response response, bool head_only, bool keep_alive);
  bool ending() const { return ending_; }
  // Called (once, on the strand) when the connection is to end, for a stream that must say goodbye.
  void on_ending(std::function<void()> hook) { on_ending_ = std::move(hook); }
  Carrier& carrier() { return carrier_; }
  // Marks that a write was begun or ended, for tick(); write() does it by itself. Bytes that the viewer takes
  // meanwhile are seen by tick().
  void note_writing(bool begun);

 private:
  using Parser = http::request_parser<http::string_body>;
  enum class Phase { idle, answering, streaming };

  boost::asio::awaitable<bool> read_head(Parser& parser);
  boost::asio::awaitable<bool> answer_one(Parser& parser);
  boost::asio::awaitable<bool> read_body(Parser& parser, std::size_t most_bytes);
  boost::asio::awaitable<Response> dispatch(Call& call, const Route& route);
  boost::asio::awaitable<bool> send_file(FilePiece piece);
  boost::asio::awaitable<void> linger();
  bool peer_is_trusted() const;
  Request take_request(Parser& parser);
  base::Result<void> check_head(const Parser& parser, Request& request) const;

  const std::shared_ptr<Services> services_;
  Carrier carrier_;
  boost::asio::ip::address peer_;
  std::string address_;  // as limiter_key says
  boost::beast::flat_buffer buffer_;
  boost::asio::cancellation_signal cancel_;
  Phase phase_ = Phase::idle;
  bool ending_ = false;
  std::function<void()> on_ending_;
  bool first_request_ = true;
  bool body_left_ = false;  // the request's body was not read to its end

  std::atomic<bool> known_{false};              // someone with a session or a token came
  std::atomic<std::int64_t> waiting_since_{0};  // for a request: steady clock, ns; 0: one is being answered

  void begin_ending();
  void end_if_left();
  void end_if_stalled(base::MonoTime now);
  std::uint64_t acknowledged_seen_ = 0;  // bytes that the viewer's computer has taken, when last looked

  std::mutex ask_mutex_;
  std::function<bool()> still_allowed_;
  std::atomic<std::uint64_t> writes_{0};
  std::uint64_t writes_seen_ = 0;               // tick()'s own
  base::MonoTime quiet_since_{};                // tick()'s own: no write since
  std::atomic<std::int64_t> writing_since_{0};  // steady clock, ns; 0: nothing is being written
};

// Sends the head of a stream's answer and remembers nothing else: length unknown, ends with the connection.
boost::asio::awaitable<bool> send_stream_head(Connection& connection, Response response);

}  // namespace rookery::web
