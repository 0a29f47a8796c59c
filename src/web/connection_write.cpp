// The writing half of a connection: whole answers, files, and what streams write piece by piece.
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

}  // namespace

asio::awaitable<bool> Connection::respond(Response response, bool head_only, bool keep_alive) {
  const std::string head = head_text(response, keep_alive, true);
  std::array<asio::const_buffer, 3> pieces = {asio::buffer(head)};
  if (head_only || response.status == http::status::no_content ||
      response.status == http::status::not_modified) {
    co_return co_await write(pieces);
  }
  if (auto* text = std::get_if<std::string>(&response.body)) pieces[1] = asio::buffer(*text);
  if (auto* frame = std::get_if<camera::FramePtr>(&response.body)) pieces[1] = asio::buffer((*frame)->bytes);
  const bool written = co_await write(pieces);
  auto* file = std::get_if<FilePiece>(&response.body);
  if (!written || file == nullptr) co_return written;
  auto sending = send_file(std::move(*file));
  co_return co_await std::move(sending);
}

asio::awaitable<bool> Connection::send_file(FilePiece piece) {
  std::ifstream in(piece.file, std::ios::binary);
  in.seekg(static_cast<std::streamoff>(piece.first));
  std::vector<char> bytes(std::min<std::uint64_t>(kFilePiece_bytes, piece.length));
  while (piece.length > 0) {
    auto read = [&in, &bytes, &piece] {
      in.read(bytes.data(),
              static_cast<std::streamsize>(std::min<std::uint64_t>(bytes.size(), piece.length)));
      return static_cast<std::size_t>(in.gcount());
    };
    auto reading = run_on(services_->station.workers(), std::move(read));
    const std::size_t count = co_await std::move(reading);
    if (count == 0) co_return false;  // shorter than it was: the viewer sees that the length was not reached
    const std::array<asio::const_buffer, 3> pieces = {asio::buffer(bytes.data(), count)};
    if (!co_await write(pieces)) co_return false;
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

asio::awaitable<bool> send_stream_head(Connection& connection, Response response) {
  const std::string head = head_text(response, false, false);
  const std::array<asio::const_buffer, 3> pieces = {asio::buffer(head)};
  co_return co_await connection.write(pieces);
}

}  // namespace rookery::web
