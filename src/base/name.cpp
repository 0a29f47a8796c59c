#include "base/name.h"

#include <fmt/format.h>

namespace rookery::base {
namespace {

bool is_letter_or_digit(char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9'); }

// The nearest allowed name, to offer in the error; empty when nothing of the text can be used.
std::string nearest_name(std::string_view text) {
  std::string out;
  for (char c : text) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    if (!is_letter_or_digit(c)) c = '-';
    if (c == '-' && (out.empty() || out.back() == '-')) continue;
    out += c;
    if (out.size() == 40) break;
  }
  while (!out.empty() && out.back() == '-') out.pop_back();
  return out;
}

// What is wrong with the text; empty when nothing is.
std::string fault_of(std::string_view text) {
  if (text.empty()) return "a camera needs a name, and this one is empty";
  if (text.size() > CameraName::kMaxLength) {
    return fmt::format("the name has {} characters, at most {} are allowed", text.size(),
                       CameraName::kMaxLength);
  }
  for (char c : text) {
    if (is_letter_or_digit(c) || c == '-') continue;
    const auto byte = static_cast<unsigned char>(c);
    const std::string shown =
        byte > 0x20 && byte < 0x7f ? fmt::format("\"{}\"", c) : fmt::format("byte 0x{:02x}", byte);
    return fmt::format("{} is not allowed in a camera's name", shown);
  }
  if (!is_letter_or_digit(text.front()) || !is_letter_or_digit(text.back())) {
    return "a camera's name starts and ends with a letter or digit";
  }
  return {};
}

}  // namespace

Result<CameraName> CameraName::parse(std::string_view text) {
  std::string fault = fault_of(text);
  if (fault.empty()) return CameraName(std::string(text));
  const std::string offer = nearest_name(text);
  return Error(ErrorCode::invalid_value, "camera name", std::move(fault),
               fmt::format("Use a-z, 0-9 and \"-\"{}.",
                           offer.empty() ? "" : fmt::format(", for example \"{}\"", offer)));
}

}  // namespace rookery::base
