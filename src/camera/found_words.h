// What a person is told about a thing that was found.
#pragma once

#include <string>

#include "camera/board_list.h"

namespace rookery::camera {

// "still, stream", "a camera that wants a sign-in", "no camera", … "not asked".
std::string answer_words(const FoundBoard& board);

// "bobbin", "bobbin, moved here", "new", "-" for what is no camera.
std::string camera_words(const FoundBoard& board);

// "24:0a:c4", "02:00:5e, locally administered", or empty.
std::string maker_words(const FoundBoard& board);

// A camera name made of the announced one: "Küche №7.local" → "k-che-7". "camera" when nothing of it is left.
std::string suggested_name(const FoundBoard& board);

}  // namespace rookery::camera
