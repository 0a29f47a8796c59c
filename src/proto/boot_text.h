// Small looks into a line of a board's log. Internal to boot_facts.cpp and its like.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace rookery::proto {

// What stands behind `word` in `line`; none when it is not there. Case counts.
std::optional<std::string_view> behind(std::string_view line, std::string_view word);

// Whether `line` holds `word`, small letters given, without regard to case.
std::size_t find_any_case(std::string_view line, std::string_view word);

// Takes a number off the front: decimal, or hexadecimal behind 0x. None when there is none or it exceeds 32
// bits.
std::optional<std::uint32_t> take_number(std::string_view& text);

// The front of `text` as far as it consists of letters, digits and `also`; at most 60 characters.
std::string_view word_at(std::string_view text, std::string_view also);

// "192.0.2.17" off the front of `text`; empty when none stands there, or when it is 0.0.0.0.
std::string_view ipv4_at(std::string_view text);

// Whether a text names a secret, so that its value may stand beside it: password, passphrase, psk, key, token
// …
bool may_hold_secret(std::string_view text);

}  // namespace rookery::proto
