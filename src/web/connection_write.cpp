// The writing half of a connection: whole answers, files, and what streams write piece by piece.
#include <netinet/tcp.h>
#include <sys/socket.h>

#include <fstream>

#include <boost/asio/redirect_error.hpp>
#include <boost/asio/use_awaitable.hpp>

#include "web/connection.h"
#include "web/on_workers.h"

namespace rookery::web {
namespace asio = boost::asio;
using boost::system::error_code;
namespace {

constexpr std::size_t kFilePiece_bytes = 256u << 10;
// How much of an unwanted body is read away so that the answer is not lost in a reset (RFC 9112, 9.6).
constexpr std::size_t kLingerMost_bytes = 16u << 20;

// Takes `count` bytes off the front.
void consume(std::array<asio::const_buffer, 3>& pieces, std::size_t count) {
  for (asio::const_buffer& piece : pieces) {
    const std::size_t here = std::min(count, piece.size());
    piece += here;
    count -= here;
  }
}

// Bytes that the other computer has acknowledged so far; 0 where the system does not say (Linux before 4.1).
// The C library's tcp_info ends before them; linux/tcp.h, which has them, does not go together with the C
// library's.
std::uint64_t bytes_taken(int socket) {
  struct {
    tcp_info known;
    std::uint64_t pacing_rate, pacing_rate_most, bytes_acknowledged;
  } info{};
  static_assert(sizeof(tcp_info) == 104 && sizeof(info) == 128);
  socklen_t size = sizeof(info);
  if (::getsockopt(socket, IPPROTO_TCP, TCP_INFO, &info, &size) != 0) return 0;
  return size >= sizeof(info) ? info.bytes_acknowledged : 0;
}

}  // namespace

// A large picture on a thin line is one write for long: whether bytes flow meanwhile, the system knows.
void Connection::end_if_stalled(base::MonoTime now) {
  const std::int64_t since = writing_since_.load(std::memory_order_relaxed);
  if (since == 0) return;
  const std::uint64_t taken = bytes_taken(carrier_.socket().native_handle());
  if (taken != acknowledged_seen_) {
    acknowledged_seen_ = taken;
    writing_since_.store(nanoseconds(now), std::memory_order_relaxed);
    return;
  }
  if (nanoseconds(now) - since > std::chrono::nanoseconds(services_->options.limits.stalled).count()) end();
}

asio::awaitable<bool> Connection::respond(Response response, bool head_only, bool keep_alive) {
  const std::string head = head_text(response, keep_alive, true);
  std::array<asio::const_buffer, 3> pieces = {asio::buffer(head)};
  if (head_only || response.status == http::status::no_content ||
      response.status == http::status::not_modified) {
    auto writing = write(pieces);
    co_return co_await std::move(writing);
  }
  if (auto* text = std::get_if<std::string>(&response.body)) pieces[1] = asio::buffer(*text);
  if (auto* frame = std::get_if<camera::FramePtr>(&response.body)) pieces[1] = asio::buffer((*frame)->bytes);
  auto writing = write(pieces);
  const bool written = co_await std::move(writing);
  auto* file = std::get_if<FilePiece>(&response.body);
  if (!written || file == nullptr) co_return written;
  auto sending = send_file(std::move(*file));
  co_return co_await std::move(sending);
}

asio::awaitable<bool> Connection::send_file(FilePiece piece) {
  std::ifstream in;
  std::vector<char> bytes(std::min<std::uint64_t>(kFilePiece_bytes, piece.length));
  while (piece.length > 0) {
    // Opened there as well: on a disk that sleeps, that is what takes longest.
    auto read = [&in, &bytes, &piece] {
      if (!in.is_open()) {
        in.open(piece.file, std::ios::binary);
        if (piece.first > 0) in.seekg(static_cast<std::streamoff>(piece.first));
      }
      in.read(bytes.data(),
              static_cast<std::streamsize>(std::min<std::uint64_t>(bytes.size(), piece.length)));
      return static_cast<std::size_t>(in.gcount());
    };
    auto reading = run_on(services_->station.reading(), std::move(read));
    const std::size_t count = co_await std::move(reading);
    if (count == 0) co_return false;  // shorter than it was: the viewer sees that the length was not reached
    const std::array<asio::const_buffer, 3> pieces = {asio::buffer(bytes.data(), count)};
    auto writing = write(pieces);
    if (!co_await std::move(writing)) co_return false;
    piece.length -= count;
  }
  co_return true;
}

std::optional<bool> Connection::try_write(std::array<asio::const_buffer, 3>& pieces) {
  error_code error;
  const std::size_t count = carrier_.socket().write_some(pieces, error);
  writes_.fetch_add(1, std::memory_order_relaxed);
  if (error && error != asio::error::would_block) return false;
  consume(pieces, error ? 0 : count);
  if (asio::buffer_size(pieces) == 0) return true;
  return std::nullopt;
}

asio::awaitable<bool> Connection::write(std::array<asio::const_buffer, 3> pieces) {
  std::size_t left = asio::buffer_size(pieces);
  for (;;) {
    const std::optional<bool> done = try_write(pieces);
    if (done) {
      note_writing(false);
      co_return *done;
    }
    const std::size_t now_left = asio::buffer_size(pieces);
    if (now_left != left || writing_since_.load(std::memory_order_relaxed) == 0) note_writing(true);
    left = now_left;
    error_code error;
    auto waiting = carrier_.socket().async_wait(asio::ip::tcp::socket::wait_write,
                                                asio::redirect_error(asio::use_awaitable, error));
    co_await std::move(waiting);
    if (error) co_return false;
  }
}

asio::awaitable<void> Connection::linger() {
  error_code error;
  carrier_.socket().shutdown(asio::ip::tcp::socket::shutdown_send, error);
  carrier_.expires_after(services_->options.limits.grace);
  std::array<char, 16384> away;
  std::size_t total = 0;
  while (!error && total < kLingerMost_bytes) {
    auto reading =
        carrier_.async_read_some(asio::buffer(away), asio::redirect_error(asio::use_awaitable, error));
    total += co_await std::move(reading);
  }
}

// Lent: the stream that awaits this is awaited by the connection itself.
asio::awaitable<bool> send_stream_head(Connection& connection, Response response) {
  const std::string head = head_text(response, false, false);
  const std::array<asio::const_buffer, 3> pieces = {asio::buffer(head)};
  auto writing = connection.write(pieces);
  co_return co_await std::move(writing);
}

}  // namespace rookery::web
