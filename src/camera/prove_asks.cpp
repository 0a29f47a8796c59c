#include "camera/prove_asks.h"

#include <charconv>

#include <fmt/format.h>

#include "camera/board_stamp.h"
#include "jpeg/luma_grid.h"
#include "jpeg/walk.h"
#include "proto/limits.h"
#include "vision/exposure.h"

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

std::optional<int> value_in_status(std::string_view json, std::string_view key) {
  const std::string quoted = fmt::format("\"{}\"", key);
  const auto at = json.find(quoted);
  if (at == std::string_view::npos) return std::nullopt;
  json.remove_prefix(at + quoted.size());
  const auto skip_spaces = [&json] {
    json.remove_prefix(std::min(json.size(), json.find_first_not_of(" \t\r\n")));
  };
  skip_spaces();
  if (!json.starts_with(':')) return std::nullopt;
  json.remove_prefix(1);
  skip_spaces();
  int value = 0;
  const auto [end, error] = std::from_chars(json.data(), json.data() + json.size(), value);
  const std::string_view rest = json.substr(static_cast<std::size_t>(end - json.data()));
  if (error != std::errc() || rest.empty() || rest.find_first_of(",} \t\r\n") != 0) return std::nullopt;
  return value;
}

// Lent: client and clock, by prove(), which waits for its end.
asio::awaitable<Result<StillSeen>> fetch_still(net::HttpClient& client, net::Address address,
                                               const base::Clock& clock) {
  StillSeen seen;
  seen.asked = clock.mono();
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
  seen.arrived = clock.mono();
  client.close();
  if (!body) co_return body.error();
  const jpeg::WalkResult walked = jpeg::walk(*body);
  if (const auto* broken = std::get_if<jpeg::BrokenKind>(&walked)) {
    co_return Error(
        ErrorCode::malformed, where,
        fmt::format("the still is broken: {}: {}", jpeg::name_of(*broken), jpeg::explain(*broken)));
  }
  seen.stamp = parse_stamp(head->find("X-Timestamp"));
  jpeg::LumaGrid grid;
  if (jpeg::compute_luma_grid(*body, grid)) seen.level = vision::compute_clipping(grid).mean;
  co_return seen;
}

namespace {

// What the board answers to a GET, at most a small text. remedy: where it answers anything but 2xx.
// Lent: client, by whoever asks, who waits for its end.
asio::awaitable<Result<std::string>> fetch_text(net::HttpClient& client, net::Address address,
                                                std::string remedy) {
  const std::string where = "GET " + address.shown();
  auto asking = client.fetch_head(std::move(address));
  Result<net::HttpHead> head = co_await std::move(asking);
  if (!head) co_return head.error();
  auto reading = fetch_body(client, proto::kMaxTextBodyBytes);
  const Result<std::vector<std::byte>> body = co_await std::move(reading);
  client.close();
  if (head->status < 200 || head->status > 299) {
    co_return Error(ErrorCode::refused, where,
                    fmt::format("the board answers {} {}", head->status, head->reason), std::move(remedy));
  }
  if (!body) co_return body.error();
  co_return std::string(reinterpret_cast<const char*>(body->data()), body->size());
}

}  // namespace

// Lent: client, by prove(), which waits for its end.
asio::awaitable<Result<void>> fetch_control(net::HttpClient& client, net::Address address) {
  auto asking = fetch_text(client, std::move(address), "Correct path, key and value in the board's profile");
  const Result<std::string> text = co_await std::move(asking);
  if (!text) co_return text.error();
  co_return base::ok();
}

// Lent: client, by prove(), which waits for its end.
asio::awaitable<Result<int>> fetch_status_value(net::HttpClient& client, net::Address address,
                                                std::string key) {
  const std::string where = "GET " + address.shown();
  auto asking = fetch_text(client, std::move(address), "Correct [status] in the board's profile");
  const Result<std::string> text = co_await std::move(asking);
  if (!text) co_return text.error();
  const auto value = value_in_status(*text, key);
  if (value) co_return *value;
  co_return Error(ErrorCode::not_found, where, fmt::format("its status has no whole number \"{}\"", key),
                  "Correct the key in the board's profile");
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
