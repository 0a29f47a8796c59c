// A TCP server on loopback whose every byte, pause, half-close and reset the test decides.
#pragma once

#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <memory>
#include <mutex>
#include <string>
#include <string_view>
#include <thread>
#include <vector>

#include <boost/asio.hpp>

namespace rookery::test {

// One accepted connection. any-thread.
class ScriptedConnection {
 public:
  explicit ScriptedConnection(boost::asio::ip::tcp::socket socket);
  ~ScriptedConnection();
  ScriptedConnection(const ScriptedConnection&) = delete;
  ScriptedConnection& operator=(const ScriptedConnection&) = delete;

  // Sends all of it, waiting for room where needed. False when the other side is gone.
  bool send(std::string_view bytes);
  // Ends our sending direction; reading goes on.
  void half_close();
  // Ends the connection with RST.
  void reset();
  // Ends the connection in the ordinary way.
  void close();

  // Everything that came so far.
  std::string received() const;
  // Waits until `text` has come. False at the deadline or when the other side ended first.
  bool wait_for(std::string_view text, std::chrono::milliseconds deadline = std::chrono::seconds(10)) const;
  // Waits until the other side has ended its sending direction or the connection. False at the deadline.
  bool wait_closed(std::chrono::milliseconds deadline = std::chrono::seconds(10)) const;

 private:
  void read_all();

  int handle_;  // owned; plain calls on it are safe from two threads, those of an Asio socket are not
  mutable std::mutex mutex_;
  mutable std::condition_variable changed_;
  std::string received_;
  bool ended_ = false;
  std::thread reader_;
};

// Listens from construction. any-thread.
class ScriptedPeer {
 public:
  // Binds 127.0.0.1; `port` 0 lets the computer choose. Throws std::system_error when the port is taken.
  explicit ScriptedPeer(std::uint16_t port = 0);
  ~ScriptedPeer();
  ScriptedPeer(const ScriptedPeer&) = delete;
  ScriptedPeer& operator=(const ScriptedPeer&) = delete;

  std::uint16_t port() const { return port_; }
  // "http://127.0.0.1:PORT" + path.
  std::string address(std::string_view path = "/") const;

  // The next connection that came in, in order; waits for it. Null at the deadline.
  std::shared_ptr<ScriptedConnection> accept(std::chrono::milliseconds deadline = std::chrono::seconds(10));
  // How many connections came in, ever (taken by accept() or not).
  int connections() const;
  // From now on every further connection is answered at once with these blocks, one send each, after the end
  // of the request's header came, and then closed. Such connections do not show up in accept().
  void always_answer(std::vector<std::string> blocks);
  // Stops listening: further connections are refused.
  void stop_listening();

 private:
  void accept_all();

  boost::asio::io_context context_;
  boost::asio::ip::tcp::acceptor acceptor_;
  std::uint16_t port_ = 0;
  mutable std::mutex mutex_;
  std::condition_variable changed_;
  std::vector<std::shared_ptr<ScriptedConnection>> waiting_;
  std::vector<std::thread> answering_;
  std::vector<std::weak_ptr<ScriptedConnection>> answered_;
  std::vector<std::string> blocks_;
  bool always_ = false;
  int count_ = 0;
  std::thread thread_;
};

}  // namespace rookery::test
