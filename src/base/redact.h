// Takes secrets out of text before it reaches a log, an error or a screen.
#pragma once

#include <string>
#include <string_view>

namespace rookery::base {

// An address (URL or path with query) fit to be shown: user information becomes "***@", the values of
// query keys that end with token, key, code, password, pass, passwd, passphrase, pwd, pw, psk, auth, sig,
// signature or secret ("api_key", "AccessToken") become "***". Text that is no URL passes through with the
// same two replacements where they match.
std::string redact_address(std::string_view address);

}  // namespace rookery::base
