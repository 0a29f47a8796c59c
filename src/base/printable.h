// What somebody typed or sent, made fit to be shown in an error, in a log or in JSON.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace rookery::base {

// As many characters of one value as an error repeats: enough to know it again.
inline constexpr std::size_t kShownCharacters = 40;

// `text` as valid UTF-8 of at most `most` characters (at least 1), the last of them "…" where more was. Bytes
// that are no UTF-8 become U+FFFD; control characters, which a terminal would obey, and those that turn the
// direction of writing become escapes (\n, \x1b, \u202e), none of which is cut in two. What came of it comes
// of itself. any-thread.
std::string printable(std::string_view text, std::size_t most = kShownCharacters);

// The same for whole lines of ours that hold such text: nothing is cut, and line ends and tabs stay.
std::string printable_lines(std::string_view text);

// Whether `text` is UTF-8 without any of the characters above; with `lines`, line ends and tabs may stand in
// it.
bool is_printable(std::string_view text, bool lines = false);

}  // namespace rookery::base
