// A recorded picture as an answer.
#pragma once

#include <functional>

#include <boost/asio/awaitable.hpp>

#include "web/services.h"

namespace rookery::web {

struct StillWanted {
  base::CameraName camera;
  base::WallTime at;
};

// The recorded picture, or job's still, at or before the moment that `find` says, at the query's "width";
// X-Recorded tells its time. `find` runs on station.reading() and may block; its errors are the answer. Lent:
// the connection holds the call, and awaits this to its end (router.h).
boost::asio::awaitable<Response> answer_recorded_still(Call& call,
                                                       std::function<base::Result<StillWanted>()> find);

}  // namespace rookery::web
