// What is proven when a person gives an address instead of a camera's name.
#pragma once

#include <string>
#include <string_view>

#include "base/result.h"
#include "camera/profile.h"
#include "camera/settings.h"

namespace rookery::camera {

// Whether a person means an address: it holds "://", "/", ":" or a dot, which no camera's name does.
bool is_address(std::string_view text);

// Settings for proving the board at an address ("192.0.2.17", "board.local:81/stream", "http://user:word@…").
// With a path it is where the pictures are: the stream, or stills with a profile that has no stream. Without
// one the profile's addresses are taken. `still`: an address of its own for stills, or empty. The name is
// made of the host. User information goes to user and password. Errors: invalid_value, unsupported.
base::Result<Settings> settings_at(std::string_view address, const Profile& profile, std::string_view still);

// The same host's still by the profile, for a camera whose settings have none; empty when the profile says
// nothing.
std::string still_by_profile(const Settings& settings, const Profile& profile);

}  // namespace rookery::camera
