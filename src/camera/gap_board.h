// GapBoard: when which camera of a station stopped giving pictures, and announced itself anew, so that
// each dropout can say whether others stopped with it and whether its board did.
#pragma once

#include <map>
#include <mutex>
#include <string>

#include <boost/asio/ip/address.hpp>

#include "camera/dropout.h"

namespace rookery::camera {

// What boards on one network have in common: the first 24 bits of an IPv4 address, 64 of an IPv6 one (the
// usual size of a home's network and, by RFC 4291 §2.5.1, of an IPv6 link).
std::string network_of(const boost::asio::ip::address& address);

// any-thread.
class GapBoard {
 public:
  // The camera gave a picture then; its board is on that network. Once a second is enough.
  void gives_pictures(const std::string& camera, const std::string& network, base::MonoTime at);
  // It stopped after that picture.
  void stopped(const std::string& camera, base::MonoTime began);
  // Its board made sure of its name on the network: it starts, or joins anew.
  void announced(const std::string& camera, base::MonoTime at);
  void forget(const std::string& camera);

  // The others when `camera` stopped at `began`.
  OthersSeen others(const std::string& camera, base::MonoTime began) const;
  // Whether its board announced itself after that time.
  bool has_announced(const std::string& camera, base::MonoTime after) const;

 private:
  struct Place {
    std::string network;
    base::MonoTime last_picture{};
    base::MonoTime last_gap = base::MonoTime::min();
    base::MonoTime last_announced = base::MonoTime::min();
  };
  mutable std::mutex mutex_;
  std::map<std::string, Place> places_;
};

}  // namespace rookery::camera
