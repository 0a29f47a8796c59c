// Takes secrets out of text before it reaches a log, an error or a screen.
#pragma once

#include <string>
#include <string_view>

namespace rookery::base {

// An address (URL or path with query) fit to be shown: user information becomes "***@", the values of the
// query keys token, key, code, password, pass, pwd, auth and secret become "***". Text that is no URL passes
// through with the same two replacements where they match.
std::string redact_address(std::string_view address);

}  // namespace rookery::base
