// TokenDesk: looks at access tokens, and makes whoever keeps showing wrong ones wait.
#pragma once

#include <chrono>
#include <cstdint>
#include <mutex>
#include <optional>
#include <string>
#include <unordered_map>

#include "archive/people_store.h"
#include "base/name.h"
#include "base/time.h"
#include "station/station.h"
#include "web/limiter.h"

namespace rookery::web {

// any-thread; blocks (one catalog read a look), so call it on a worker.
//
// A wrong token costs its address one of ten tries, one of which comes back every 6 s; without one left the
// answer is to come again. A right one costs nothing, and is let in whatever the others behind its address
// tried. It is looked up for that, so an address has a bound on guesses of its own: beyond a hundred wrong
// ones at once, and one a second from then on, only a token that was right before in this run is looked up;
// any other has to wait. One that was wrong within the last minute is refused without a look and without a
// try: a program that repeats a revoked token shuts out nobody.
class TokenDesk {
 public:
  explicit TokenDesk(station::Station& station) : station_(station) {}

  struct Verdict {
    std::optional<archive::TokenInfo> token;  // right, and for this use
    std::chrono::milliseconds wait{0};        // wrong or not looked up: come again after so long
    std::optional<base::Error> failure;       // the catalog could not be asked
  };
  // Whether `secret` opens `camera` (none: any camera) for that use. `peer` is the caller's IP address.
  Verdict look_at(const std::string& secret, const std::optional<base::CameraName>& camera,
                  archive::TokenUse use, const std::string& peer);

 private:
  using Prints = std::unordered_map<std::uint64_t, base::MonoTime>;  // fingerprints: when they were last so

  bool was_right(std::uint64_t print) const;
  bool is_known_wrong(std::uint64_t print, base::MonoTime now) const;
  void remember(std::uint64_t token, std::uint64_t question, bool right);
  static void put(Prints& prints, std::uint64_t print, base::MonoTime now);

  station::Station& station_;
  Limiter tries_{10, std::chrono::seconds{6}, 10'000, Crowd::evict};
  Limiter looks_{100, std::chrono::seconds{1}, 10'000, Crowd::evict};
  mutable std::mutex mutex_;
  Prints right_;  // of tokens
  Prints wrong_;  // of tokens together with what they were to open
};

}  // namespace rookery::web
