// How deep a TOML text nests, told before it is parsed: a parser builds its tables in one another and takes
// them down by recursion, so a text of a few thousand brackets or dots would end the program.
#pragma once

#include <cstddef>
#include <optional>
#include <string_view>

#include "base/result.h"

namespace rookery::base {

// More than any file of people's has: names in one key ("a.b.c" has three), and brackets open at once.
inline constexpr std::size_t kDeepestToml = 16;

// The line (from 1) in which a key has more than kDeepestToml names or more than so many arrays and inline
// tables stand in one another; nothing when none does. One pass over the text, which need not be TOML: up to
// the first mistake it is read as TOML 1.0 is, and a parser stops there.
std::optional<std::size_t> too_deep_line(std::string_view toml);

// malformed, naming the line and the limit.
Error too_deep_error(std::string_view where, std::size_t line);

}  // namespace rookery::base
