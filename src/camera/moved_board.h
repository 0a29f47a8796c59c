// Following a board whose address changed. No I/O.
#pragma once

#include <optional>
#include <span>
#include <string>

#include "camera/board_list.h"
#include "camera/settings.h"

namespace rookery::camera {

// Whether the host of the address that is pulled is an IP address: only those have to be followed, names are
// looked up anew by the pull itself. Then that host; else none.
std::optional<std::string> literal_host(const Settings& settings);

// Where the camera's board is now, when it was found at another address than the settings say: one that can
// be used, and that is sure - by hardware address, or, for a camera without a password, by announced name and
// like answers. A password is given to nobody who merely says the right name. None when two boards would do.
std::optional<std::string> new_host(const Settings& settings, std::span<const FoundBoard> found);

// Puts `to` in the place of `from` as host of both addresses. What is not at `from` stays.
void move_addresses(Settings& settings, const std::string& from, const std::string& to);

}  // namespace rookery::camera
