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
// A wrong token costs its address one of ten tries, one of which comes back every 6 s; without a try left the
// catalog is not asked. A token that was right before in this run is looked at without a try, and one that
// was wrong within the last minute is refused without one: a program that repeats a revoked token does not
// shut out the others behind its address, whichever comes first.
class TokenDesk {
 public:
  explicit TokenDesk(station::Station& station) : station_(station) {}

  struct Verdict {
    std::optional<archive::TokenInfo> token;  // right, and for this use
    std::chrono::milliseconds wait{0};        // not looked at: come again after so long
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
  Limiter limit_{10, std::chrono::seconds{6}, 10'000, Crowd::evict};
  mutable std::mutex mutex_;
  Prints right_;  // of tokens
  Prints wrong_;  // of tokens together with what they were to open
};

}  // namespace rookery::web
