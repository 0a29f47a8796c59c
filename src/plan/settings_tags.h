// The tags of a settings template, looked at before the library that fills it: it reads sections in one
// another by recursion, tells mistakes by bytes instead of lines, and asks for a section's value as it asks
// for a variable's.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "base/result.h"

namespace rookery::plan {

// Stands in front of a section's name in what mark_sections returns. No template may hold it.
inline constexpr char kSectionMark = '\x03';

// Sections in one another that a template may have: more than any settings file needs.
inline constexpr std::size_t kDeepestSections = 16;

// `text` with kSectionMark in front of the name in each {{#name}}, {{^name}} and {{/name}}, whatever the
// delimiters are by then. `where` is the template's name. Errors, each with its line: malformed (a tag
// without its end, a section without begin or end or with another's, delimiters that are none, more than
// kDeepestSections in one another).
base::Result<std::string> mark_sections(std::string_view text, const std::string& where);

}  // namespace rookery::plan
