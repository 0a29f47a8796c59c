// Access: who asks, and whether that is enough for what is asked.
#pragma once

#include <string>
#include <variant>
#include <vector>

#include "web/services.h"

namespace rookery::web {

// What a route asks of its caller.
enum class Need {
  nothing,  // anyone
  viewer,   // a signed-in person
  owner,    // a signed-in owner
  watch,    // a signed-in person, or a token that opens the camera in the first parameter
  push,     // a token that may push to the camera in the first parameter
  report,   // a token that may tell of the jobs of the camera in the first parameter
  metrics,  // a signed-in owner, or a token of any camera in Authorization
};

// Finds out who asks and whether they may. Returns the caller, or the answer that says no: 401 when nobody is
// signed in, 403 when a role is not enough or another site sent the request, 404 for a camera that was not
// granted, 429 after too many wrong tokens from one address. Blocks (catalog): call it on station.asking().
std::variant<Caller, Response> authorise(Services& services, Need need, const Request& request,
                                         const std::vector<std::string>& params);

// Whether a caller that was let in still would be. Brings the person's grants up to date. Blocks.
bool still_allowed(Services& services, Caller& caller, const base::CameraName& camera);
bool still_signed_in(Services& services, Caller& caller);

// 401 for people and programs that are not signed in.
Response not_signed_in();

}  // namespace rookery::web
