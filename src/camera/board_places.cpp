#include "camera/board_places.h"

#include <algorithm>
#include <optional>

namespace rookery::camera {
namespace {

// Common practice, no source: no announced path of a picture is that long.
constexpr std::size_t kLongestPath = 200;

std::uint16_t main_port(const Profile& profile) {
  return profile.still ? profile.still->port : profile.stream->port;
}

// Where a profile's port is when the board announces `announced`; none when that is no port.
std::optional<std::uint16_t> moved(const Profile& profile, std::uint16_t own, std::uint16_t announced) {
  const bool as_it_is = (profile.still && profile.still->port == announced) ||
                        (profile.stream && profile.stream->port == announced);
  if (as_it_is) return own;
  const int port = own + announced - main_port(profile);
  if (port < 1 || port > 65535) return std::nullopt;
  return static_cast<std::uint16_t>(port);
}

class Places {
 public:
  void add(std::optional<std::uint16_t> port, std::string_view path, bool stream) {
    const auto same = [&](const AskedPlace& one) { return one.port == *port && one.path == path; };
    if (!port || std::ranges::any_of(places_, same)) return;
    places_.push_back({*port, std::string(path), stream});
  }
  std::vector<AskedPlace> take() && { return std::move(places_); }

 private:
  std::vector<AskedPlace> places_;
};

void add_once(std::vector<std::uint16_t>& ports, std::uint16_t port) {
  if (std::ranges::find(ports, port) == ports.end()) ports.push_back(port);
}

}  // namespace

std::vector<AskedPlace> places_to_ask(std::span<const Profile> profiles, std::uint16_t port,
                                      std::string_view announced_path) {
  Places places;
  if (announced_path.starts_with('/') && announced_path.size() < kLongestPath)
    places.add(port, announced_path, false);
  // Stills first: a board that serves one viewer is free again the sooner.
  for (const bool stream : {false, true}) {
    const auto place_of = [stream](const Profile& one) { return stream ? one.stream : one.still; };
    for (const Profile& profile : profiles) {
      if (const auto place = place_of(profile))
        places.add(moved(profile, place->port, port), place->path, stream);
    }
    for (const Profile& profile : profiles) {
      const auto place = place_of(profile);
      if (!place) continue;
      for (const std::string& path : stream ? profile.find.stream_paths : profile.find.still_paths)
        places.add(moved(profile, place->port, port), path, stream);
    }
  }
  return std::move(places).take();
}

std::vector<std::uint16_t> ports_to_knock(std::span<const Profile> profiles) {
  std::vector<std::uint16_t> out;
  for (const Profile& profile : profiles) add_once(out, main_port(profile));
  for (const Profile& profile : profiles) {
    for (const std::uint16_t port : profile.find.ports) add_once(out, port);
  }
  return out;
}

}  // namespace rookery::camera
