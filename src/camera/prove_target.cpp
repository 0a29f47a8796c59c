#include "camera/prove_target.h"

#include <algorithm>

#include <fmt/format.h>

#include "net/address.h"

namespace rookery::camera {
namespace {

using base::Result;

// As settings hold it: without user information.
std::string text_of(const net::Address& address) {
  return fmt::format("{}://{}{}", address.scheme == net::Scheme::https ? "https" : "http",
                     address.host_field(), address.target);
}

// "board-local" of "board.local", "at-1" of "::1": any host makes a name.
base::CameraName name_of_host(std::string_view host) {
  std::string name;
  for (const char c : host) {
    const bool kept = (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9');
    if (kept || (!name.empty() && name.back() != '-')) name += kept ? c : '-';
  }
  name = name.substr(0, base::CameraName::kMaxLength);
  while (!name.empty() && name.back() == '-') name.pop_back();
  auto parsed = base::CameraName::parse(name);
  return parsed ? *parsed : base::CameraName::parse("board").value();
}

Result<net::Address> parsed(std::string_view text) {
  const std::string whole =
      text.find("://") == std::string_view::npos ? fmt::format("http://{}", text) : std::string(text);
  return net::Address::parse(whole);
}

}  // namespace

bool is_address(std::string_view text) { return text.find_first_of("/.:") != std::string_view::npos; }

Result<Settings> settings_at(std::string_view text, const Profile& profile, std::string_view still) {
  auto address = parsed(text);
  if (!address) return address.error();
  Settings settings(name_of_host(address->host));
  settings.user = std::exchange(address->user, {});
  settings.password = std::exchange(address->password, {});
  settings.source = profile.stream ? Source::stream : Source::stills;
  const bool bare = address->target == "/";
  if (settings.source == Source::stream) {
    auto stream = bare ? profile.stream_at(*address) : Result<net::Address>(*address);
    if (!stream) return stream.error();
    settings.stream_address = text_of(*stream);
  }
  if (!still.empty()) {
    auto own = parsed(still);
    if (!own) return own.error();
    settings.still_address = text_of(*own);
  } else if (settings.source == Source::stills && !bare) {
    settings.still_address = text_of(*address);
  } else if (bare && profile.still) {
    settings.still_address = text_of(*profile.still_at(*address));
  }
  return settings;
}

std::string still_by_profile(const Settings& settings, const Profile& profile) {
  const auto address = net::Address::parse(settings.stream_address);
  if (!address || !profile.still) return {};
  return text_of(*profile.still_at(*address));
}

}  // namespace rookery::camera
