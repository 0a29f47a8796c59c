// BoardPlaces: where pictures may be on a board of which only a port is known, by the profiles: what `find`
// asks and where its sweep knocks. No I/O.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "camera/profile.h"

namespace rookery::camera {

// One thing that a board may be asked for.
struct AskedPlace {
  std::uint16_t port = 80;
  std::string path;
  bool stream = false;  // else a still
  bool operator==(const AskedPlace&) const = default;
};

// In the order of asking, each once: stills before streams; the announced path first, when there is one; then
// what the profiles say, in their order, then what else they know of. `port` is the announced one: a profile
// that has its stills or its stream there is taken as it is, any other moves along with all its ports.
std::vector<AskedPlace> places_to_ask(std::span<const Profile> profiles, std::uint16_t port,
                                      std::string_view announced_path);

// Each once: where the profiles have their stills (their stream, when they have none), then where else.
std::vector<std::uint16_t> ports_to_knock(std::span<const Profile> profiles);

}  // namespace rookery::camera
