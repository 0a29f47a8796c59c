#include "tests/support/scripted_peer.h"

#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <cerrno>

#include <fmt/format.h>

namespace rookery::test {

using Tcp = boost::asio::ip::tcp;

ScriptedConnection::ScriptedConnection(Tcp::socket socket) {
  socket.set_option(Tcp::no_delay(true));
  socket.native_non_blocking(false);
  handle_ = socket.release();
  reader_ = std::thread([this] { read_all(); });
}

ScriptedConnection::~ScriptedConnection() {
  ::shutdown(handle_, SHUT_RDWR);
  reader_.join();
  ::close(handle_);
}

void ScriptedConnection::read_all() {
  std::array<char, 16384> block{};
  for (;;) {
    const auto got = ::recv(handle_, block.data(), block.size(), 0);
    if (got < 0 && errno == EINTR) continue;
    const std::lock_guard lock(mutex_);
    if (got <= 0) {
      ended_ = true;
      changed_.notify_all();
      return;
    }
    received_.append(block.data(), static_cast<std::size_t>(got));
    changed_.notify_all();
  }
}

bool ScriptedConnection::send(std::string_view bytes) {
  while (!bytes.empty()) {
    const auto sent = ::send(handle_, bytes.data(), bytes.size(), MSG_NOSIGNAL);
    if (sent < 0 && errno == EINTR) continue;
    if (sent <= 0) return false;
    bytes.remove_prefix(static_cast<std::size_t>(sent));
  }
  return true;
}

void ScriptedConnection::half_close() { ::shutdown(handle_, SHUT_WR); }

void ScriptedConnection::reset() {
  // Connecting a TCP socket to "no address" aborts it: RST at once, while the descriptor stays ours for the
  // reader.
  sockaddr none{};
  none.sa_family = AF_UNSPEC;
  ::connect(handle_, &none, sizeof none);
  ::shutdown(handle_, SHUT_RDWR);
}

void ScriptedConnection::close() { ::shutdown(handle_, SHUT_RDWR); }

std::string ScriptedConnection::received() const {
  const std::lock_guard lock(mutex_);
  return received_;
}

bool ScriptedConnection::wait_for(std::string_view text, std::chrono::milliseconds deadline) const {
  std::unique_lock lock(mutex_);
  changed_.wait_for(lock, deadline, [&] { return ended_ || received_.find(text) != std::string::npos; });
  return received_.find(text) != std::string::npos;
}

bool ScriptedConnection::wait_closed(std::chrono::milliseconds deadline) const {
  std::unique_lock lock(mutex_);
  return changed_.wait_for(lock, deadline, [&] { return ended_; });
}

ScriptedPeer::ScriptedPeer(std::uint16_t port)
    : acceptor_(context_, Tcp::endpoint(boost::asio::ip::address_v4::loopback(), port)),
      port_(acceptor_.local_endpoint().port()),
      thread_([this] { accept_all(); }) {}

ScriptedPeer::~ScriptedPeer() {
  stop_listening();
  std::vector<std::thread> answering;
  {
    const std::lock_guard lock(mutex_);
    answering.swap(answering_);
    for (const auto& weak : answered_) {
      if (const auto connection = weak.lock()) connection->close();
    }
  }
  for (std::thread& thread : answering) thread.join();
}

std::string ScriptedPeer::address(std::string_view path) const {
  return fmt::format("http://127.0.0.1:{}{}", port_, path);
}

void ScriptedPeer::accept_all() {
  for (;;) {
    boost::system::error_code error;
    Tcp::socket socket = acceptor_.accept(error);
    if (error) return;
    auto connection = std::make_shared<ScriptedConnection>(std::move(socket));
    const std::lock_guard lock(mutex_);
    ++count_;
    if (!always_) {
      waiting_.push_back(std::move(connection));
      changed_.notify_all();
      continue;
    }
    answered_.push_back(connection);
    answering_.emplace_back([connection, blocks = blocks_] {
      if (!connection->wait_for("\r\n\r\n")) return;
      for (const std::string& block : blocks) {
        if (!connection->send(block)) return;
      }
      connection->half_close();
      (void)connection->wait_closed();
    });
  }
}

std::shared_ptr<ScriptedConnection> ScriptedPeer::accept(std::chrono::milliseconds deadline) {
  std::unique_lock lock(mutex_);
  if (!changed_.wait_for(lock, deadline, [this] { return !waiting_.empty(); })) return nullptr;
  auto connection = waiting_.front();
  waiting_.erase(waiting_.begin());
  return connection;
}

int ScriptedPeer::connections() const {
  const std::lock_guard lock(mutex_);
  return count_;
}

void ScriptedPeer::always_answer(std::vector<std::string> blocks) {
  const std::lock_guard lock(mutex_);
  blocks_ = std::move(blocks);
  always_ = true;
}

void ScriptedPeer::stop_listening() {
  if (!thread_.joinable()) return;
  // Wakes the blocking accept; the descriptor is closed only after its thread has ended.
  ::shutdown(acceptor_.native_handle(), SHUT_RDWR);
  thread_.join();
  boost::system::error_code ignored;
  acceptor_.close(ignored);
}

}  // namespace rookery::test
