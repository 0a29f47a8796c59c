// Fingerprint: what the heads of a board's answers have in common whatever it shows: like answers, like
// program. Boards of one kind have the same. No I/O.
#pragma once

#include <string>
#include <string_view>

#include "net/response_parser.h"

namespace rookery::camera {

enum class Answered { still, stream, page };

// Of one answer: "still:0123456789abcdef". Made of the status and the names and order of the fields, not of
// their values.
std::string fingerprint_of(Answered what, const net::HttpHead& head);

// `one` added to `all`, either of which may be empty. When they contradict, the board's program is another
// now: what was known of it before is dropped.
std::string with_fingerprint(std::string_view all, std::string_view one);

// True when both tell of the same kind of answer, and no kind of which both tell differs.
bool is_alike(std::string_view a, std::string_view b);

}  // namespace rookery::camera
