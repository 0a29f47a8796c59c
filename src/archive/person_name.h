// Names that people give themselves and labels that they give to tokens: what is allowed, when two are the
// same.
#pragma once

#include <string>
#include <string_view>

#include "base/result.h"

namespace rookery::archive {

// `text` when it is UTF-8 of `least` to 64 characters without control and direction characters and without
// space at either end. `what` names it in the error. Errors: invalid_value.
base::Result<std::string> check_label(std::string_view what, std::string_view text, std::size_t least);

// The same text for all spellings that differ by case only (Unicode's simple mapping). `text` is valid UTF-8.
std::string fold_case(std::string_view text);

}  // namespace rookery::archive
