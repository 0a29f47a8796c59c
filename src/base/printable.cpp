#include "base/printable.h"

#include <algorithm>

#include <fmt/format.h>

namespace rookery::base {
namespace {

constexpr char32_t kBroken = 0xfffd;  // also what stands for bytes that are no character

struct Character {
  char32_t code = kBroken;
  std::size_t bytes = 1;
  bool valid = false;
};

// How many bytes a character has whose first is this one; 0 when none begins so (Unicode, table 3-7).
std::size_t length_of(unsigned char first) {
  if (first < 0x80) return 1;
  if (first >= 0xc2 && first <= 0xdf) return 2;
  if (first >= 0xe0 && first <= 0xef) return 3;
  if (first >= 0xf0 && first <= 0xf4) return 4;
  return 0;
}

// Neither written longer than needed, nor half of a pair, nor beyond the last character.
bool is_well_formed(char32_t code, std::size_t bytes) {
  if (bytes == 3) return code >= 0x800 && (code < 0xd800 || code > 0xdfff);
  if (bytes == 4) return code >= 0x10000 && code <= 0x10ffff;
  return true;
}

// The character at the front of `text`, which is not empty.
Character front_of(std::string_view text) {
  const auto first = static_cast<unsigned char>(text.front());
  const std::size_t bytes = length_of(first);
  if (bytes == 0 || bytes > text.size()) return {};
  if (bytes == 1) return {first, 1, true};
  char32_t code = first & (0x7fU >> bytes);
  for (std::size_t i = 1; i < bytes; ++i) {
    const auto next = static_cast<unsigned char>(text[i]);
    if ((next & 0xc0U) != 0x80U) return {};
    code = (code << 6U) | (next & 0x3fU);
  }
  if (!is_well_formed(code, bytes)) return {};
  return {code, bytes, true};
}

// Controls of both sets (ECMA-48), what ends a line or paragraph, and what turns the direction of writing.
bool is_obeyed(char32_t code) {
  return code < 0x20 || (code >= 0x7f && code <= 0x9f) || code == 0x061c || code == 0x200e ||
         code == 0x200f || (code >= 0x2028 && code <= 0x202e) || (code >= 0x2066 && code <= 0x2069);
}

bool is_line_work(char32_t code) { return code == '\n' || code == '\t'; }

std::string escape_of(char32_t code) {
  if (code == '\n') return "\\n";
  if (code == '\r') return "\\r";
  if (code == '\t') return "\\t";
  const auto number = static_cast<unsigned>(code);
  return number <= 0x9f ? fmt::format("\\x{:02x}", number) : fmt::format("\\u{:04x}", number);
}

// One character of the text as it is shown, and how many characters that is.
struct Shown {
  std::string text;
  std::size_t characters = 1;
};

Shown shown(const Character& character, std::string_view bytes, bool lines) {
  if (!character.valid) return {"\ufffd", 1};
  if (!is_obeyed(character.code) || (lines && is_line_work(character.code))) return {std::string(bytes), 1};
  std::string escape = escape_of(character.code);
  const std::size_t characters = escape.size();
  return {std::move(escape), characters};
}

std::string made_printable(std::string_view text, std::size_t most, bool lines) {
  std::string out;
  std::size_t count = 0;
  // Where … goes when one character too many comes: behind the last that leaves room for it.
  std::size_t cut = 0;
  while (!text.empty()) {
    const Character character = front_of(text);
    const Shown next = shown(character, text.substr(0, character.bytes), lines);
    if (next.characters > most - count) {
      out.resize(cut);
      return out + "…";
    }
    out += next.text;
    count += next.characters;
    if (count < most) cut = out.size();
    text.remove_prefix(character.bytes);
  }
  return out;
}

}  // namespace

std::string printable(std::string_view text, std::size_t most) {
  return made_printable(text, std::max<std::size_t>(most, 1), false);
}

std::string printable_lines(std::string_view text) {
  return made_printable(text, std::string_view::npos, true);
}

bool is_printable(std::string_view text, bool lines) {
  while (!text.empty()) {
    const Character character = front_of(text);
    if (!character.valid) return false;
    // A carriage return is part of a line's end in files, but what is shown must not go back over itself.
    const bool may_stand = lines && (is_line_work(character.code) || character.code == '\r');
    if (is_obeyed(character.code) && !may_stand) return false;
    text.remove_prefix(character.bytes);
  }
  return true;
}

}  // namespace rookery::base
