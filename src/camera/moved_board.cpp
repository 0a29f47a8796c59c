#include "camera/moved_board.h"

#include <algorithm>

#include <fmt/format.h>

#include "camera/board_register.h"
#include "net/address.h"

namespace rookery::camera {
namespace {

std::optional<boost::asio::ip::address> literal(const std::string& host) {
  boost::system::error_code error;
  const auto address = boost::asio::ip::make_address(host, error);
  if (error) return std::nullopt;
  return address;
}

void move(std::string& text, const std::string& from, const std::string& to) {
  auto address = net::Address::parse(text);
  if (text.empty() || !address || address->host != from) return;
  address->host = to;
  text = fmt::format("{}://{}{}", address->scheme == net::Scheme::https ? "https" : "http",
                     address->host_field(), address->target);
}

}  // namespace

std::optional<std::string> literal_host(const Settings& settings) {
  const auto pulled = pulled_address(settings);
  if (!pulled) return std::nullopt;
  const auto address = net::Address::parse(*pulled);
  if (!address || !literal(address->host)) return std::nullopt;
  return address->host;
}

std::optional<std::string> new_host(const Settings& settings, std::span<const FoundBoard> found) {
  const auto now = literal_host(settings);
  if (!now) return std::nullopt;
  const bool wants_ipv6 = literal(*now)->is_v6();
  std::optional<std::string> out;
  for (const FoundBoard& board : found) {
    if (!board.known || board.known->camera != settings.name) continue;
    if (board.known->at_settings_address) return std::nullopt;  // it is where it should be
    const bool sure = board.known->sureness == Sureness::sure ||
                      (board.known->sureness == Sureness::likely && settings.password.empty());
    if (!sure) continue;
    // Of the same family as before where there is one.
    auto usable = board.addresses;
    std::erase_if(usable, [](const auto& one) { return !is_usable(one); });
    if (usable.empty()) continue;
    const auto same = std::ranges::find(usable, wants_ipv6, &boost::asio::ip::address::is_v6);
    const std::string host = (same != usable.end() ? *same : usable.front()).to_string();
    if (out && *out != host) return std::nullopt;
    out = host;
  }
  return out;
}

void move_addresses(Settings& settings, const std::string& from, const std::string& to) {
  move(settings.stream_address, from, to);
  move(settings.still_address, from, to);
}

}  // namespace rookery::camera
