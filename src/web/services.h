// Services: what all connections of one server share. And Call: one request with who asks for it.
#pragma once

#include <atomic>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "archive/people_store.h"
#include "base/name.h"
#include "station/station.h"
#include "web/gate.h"
#include "web/limiter.h"
#include "web/live.h"
#include "web/message.h"
#include "web/server.h"
#include "web/status_board.h"
#include "web/token_desk.h"

namespace rookery::web {

// any-thread.
struct Services {
  Services(station::Station& station_, const ServerOptions& options_, bool loopback_)
      : station(station_),
        options(options_),
        loopback(loopback_),
        tokens(station_),
        hashing(station_.io(), options_.limits.hashes_most, options_.limits.hashes_waiting_most),
        status(station_) {}

  station::Station& station;
  const ServerOptions options;
  const bool loopback;
  // A person mistypes a few times; after that one try in 6 s an address and in 12 s a name.
  Limiter address_limit{10, std::chrono::seconds{6}};
  Limiter name_limit{10, std::chrono::seconds{12}};
  // What software says of one camera's job: each makes the catalog write.
  Limiter hook_limit{20, std::chrono::seconds{1}};
  TokenDesk tokens;
  Gate hashing;
  StatusBoard status;
  // Goes up when people, sessions or tokens may have changed: open streams then ask again whether they may.
  std::atomic<std::uint64_t> access_epoch{1};

  // The one part maker of a feed, as long as someone holds it. any-thread.
  std::shared_ptr<PartMaker> part_maker(const camera::Feed* feed);

  base::MonoTime mono() const { return station.clock().mono(); }
  base::WallTime wall() const { return station.clock().wall(); }

 private:
  std::mutex makers_mutex_;
  std::map<const camera::Feed*, std::weak_ptr<PartMaker>> makers_;
};

// Who asks.
struct Caller {
  std::optional<archive::Person> person;
  std::string session;  // the cookie's secret, for signing out and asking again
  std::optional<archive::TokenInfo> token;
  std::string token_secret;

  bool is_owner() const { return person && person->role == archive::Role::owner; }
  bool may_see(const base::CameraName& camera) const {
    return (person && person->may_see(camera)) ||
           (token && token->use == archive::TokenUse::watch && token->camera == camera);
  }
};

// strand-bound to its connection, or used by the one worker that runs its handler.
struct Call {
  Services& services;
  Request request;
  Caller caller;
  std::vector<std::string> params;  // what the pattern's {…} matched, in order

  Call(Services& services_, Request request_) : services(services_), request(std::move(request_)) {}
  station::Station& station() const { return services.station; }
};

// The camera that the first parameter names, if the caller may see it. Errors: not_found, with the same text
// for a name that is none, a camera that is unknown, and one that was not granted.
base::Result<base::CameraName> visible_camera(const Call& call);
base::Result<base::CameraName> visible_camera(const Call& call, const std::string& name);
base::Error no_such_camera(std::string_view name);

}  // namespace rookery::web
