#include "camera/prove_asks.h"

#include <fmt/format.h>

#include "jpeg/walk.h"
#include "proto/limits.h"

namespace rookery::camera {

namespace asio = boost::asio;
using base::Error;
using base::ErrorCode;
using base::Result;

namespace {

constexpr std::size_t kMostStill_bytes = 8u << 20;  // as the pull

// Reads the body; what is over `most` is left.
// Lent: client, by the callers below, which await this to its end.
asio::awaitable<Result<std::vector<std::byte>>> fetch_body(net::HttpClient& client, std::size_t most) {
  std::vector<std::byte> body;
  while (body.size() < most) {
    auto reading = client.fetch_piece();
    Result<net::HttpClient::Piece> piece = co_await std::move(reading);
    if (!piece) co_return piece.error();
    if (piece->empty()) break;
    body.insert(body.end(), piece->begin(), piece->end());
  }
  co_return body;
}

}  // namespace

// Lent: client and clock, by prove(), which waits for its end.
asio::awaitable<Result<Millis>> fetch_still(net::HttpClient& client, net::Address address,
                                            const base::Clock& clock) {
  const base::MonoTime asked = clock.mono();
  const std::string where = "GET " + address.shown();
  auto asking = client.fetch_head(std::move(address));
  Result<net::HttpHead> head = co_await std::move(asking);
  if (!head) co_return head.error();
  if (head->status != 200) {
    client.close();
    co_return Error(ErrorCode::refused, where,
                    fmt::format("the board answers {} {}", head->status, head->reason),
                    "Is this the address of a still?");
  }
  auto reading = fetch_body(client, kMostStill_bytes);
  Result<std::vector<std::byte>> body = co_await std::move(reading);
  const Millis took = clock.mono() - asked;
  client.close();
  if (!body) co_return body.error();
  const jpeg::WalkResult walked = jpeg::walk(*body);
  if (const auto* broken = std::get_if<jpeg::BrokenKind>(&walked)) {
    co_return Error(
        ErrorCode::malformed, where,
        fmt::format("the still is broken: {}: {}", jpeg::name_of(*broken), jpeg::explain(*broken)));
  }
  co_return took;
}

// Lent: client, by prove(), which waits for its end.
asio::awaitable<Result<void>> fetch_control(net::HttpClient& client, net::Address address) {
  const std::string where = "GET " + address.shown();
  auto asking = client.fetch_head(std::move(address));
  Result<net::HttpHead> head = co_await std::move(asking);
  if (!head) co_return head.error();
  auto reading = fetch_body(client, proto::kMaxTextBodyBytes);
  const Result<std::vector<std::byte>> body = co_await std::move(reading);
  client.close();
  if (head->status < 200 || head->status > 299) {
    co_return Error(ErrorCode::refused, where,
                    fmt::format("the board answers {} {}", head->status, head->reason),
                    "Correct path, key and value in the board's profile");
  }
  if (!body) co_return body.error();
  co_return base::ok();
}

// Lent: client, by prove(), which waits for its end.
asio::awaitable<SecondViewer::Answer> ask_as_second_viewer(net::HttpClient& client, net::Address address) {
  auto asking = client.fetch_head(std::move(address));
  Result<net::HttpHead> head = co_await std::move(asking);
  if (head && head->status == 200) {
    auto reading = client.fetch_piece();
    const Result<net::HttpClient::Piece> piece = co_await std::move(reading);
    const bool served = piece && !piece->empty();
    client.close();
    co_return served ? SecondViewer::Answer::served : SecondViewer::Answer::waits;
  }
  const bool waits = !head && head.error().code == ErrorCode::timed_out && client.connected_but_unheard();
  const bool closed = !head && head.error().code == ErrorCode::closed;
  client.close();
  if (waits) co_return SecondViewer::Answer::waits;
  co_return closed ? SecondViewer::Answer::closed : SecondViewer::Answer::refused;
}

}  // namespace rookery::camera
