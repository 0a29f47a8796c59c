#include "camera/gap_board.h"

#include <algorithm>

namespace rookery::camera {

namespace {

constexpr std::chrono::seconds kTogether{2};
// A picture so shortly before counts as giving pictures then: boards are looked at once a second.
constexpr std::chrono::seconds kLive{5};

}  // namespace

std::string network_of(const boost::asio::ip::address& address) {
  std::string out;
  if (address.is_v4()) {
    const auto bytes = address.to_v4().to_bytes();
    out.assign(bytes.begin(), bytes.begin() + 3);
  } else {
    const auto bytes = address.to_v6().to_bytes();
    out.assign(bytes.begin(), bytes.begin() + 8);
  }
  return out;
}

void GapBoard::gives_pictures(const std::string& camera, const std::string& network, base::MonoTime at) {
  const std::lock_guard lock(mutex_);
  Place& place = places_[camera];
  place.network = network;
  place.last_picture = at;
}

void GapBoard::stopped(const std::string& camera, base::MonoTime began) {
  const std::lock_guard lock(mutex_);
  places_[camera].last_gap = began;
}

void GapBoard::announced(const std::string& camera, base::MonoTime at) {
  const std::lock_guard lock(mutex_);
  places_[camera].last_announced = at;
}

void GapBoard::forget(const std::string& camera) {
  const std::lock_guard lock(mutex_);
  places_.erase(camera);
}

bool GapBoard::has_announced(const std::string& camera, base::MonoTime after) const {
  const std::lock_guard lock(mutex_);
  const auto own = places_.find(camera);
  return own != places_.end() && own->second.last_announced > after;
}

OthersSeen GapBoard::others(const std::string& camera, base::MonoTime began) const {
  const std::lock_guard lock(mutex_);
  OthersSeen out;
  const auto own = places_.find(camera);
  if (own == places_.end()) return out;
  for (const auto& [name, place] : places_) {
    if (name == camera) continue;
    const bool gap = place.last_gap >= began - kTogether && place.last_gap <= began + kTogether;
    if (!gap && place.last_picture < began - kLive) continue;
    const bool near = place.network == own->second.network;
    ++(near ? out.near_live : out.far_live);
    if (gap) ++(near ? out.near_gaps : out.far_gaps);
  }
  return out;
}

}  // namespace rookery::camera
