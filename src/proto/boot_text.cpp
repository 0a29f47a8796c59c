#include "proto/boot_text.h"

#include <algorithm>
#include <array>
#include <charconv>

namespace rookery::proto {
namespace {

constexpr std::size_t kMaxWord = 60;

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }
bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_letter(char c) { return lower(c) >= 'a' && lower(c) <= 'z'; }

}  // namespace

std::optional<std::string_view> behind(std::string_view line, std::string_view word) {
  const std::size_t at = line.find(word);
  if (at == std::string_view::npos) return std::nullopt;
  return line.substr(at + word.size());
}

std::size_t find_any_case(std::string_view line, std::string_view word) {
  const auto found = std::ranges::search(line, word, [](char a, char b) { return lower(a) == b; });
  if (found.empty() && !word.empty()) return std::string_view::npos;
  return static_cast<std::size_t>(found.begin() - line.begin());
}

std::optional<std::uint32_t> take_number(std::string_view& text) {
  const bool hex = text.size() >= 2 && text[0] == '0' && lower(text[1]) == 'x';
  const std::string_view digits = hex ? text.substr(2) : text;
  std::uint32_t value = 0;
  const auto read = std::from_chars(digits.data(), digits.data() + digits.size(), value, hex ? 16 : 10);
  if (read.ec != std::errc()) return std::nullopt;
  text.remove_prefix(static_cast<std::size_t>(read.ptr - text.data()));
  return value;
}

std::string_view word_at(std::string_view text, std::string_view also) {
  std::size_t end = 0;
  while (end < text.size() && end < kMaxWord &&
         (is_digit(text[end]) || is_letter(text[end]) || also.find(text[end]) != std::string_view::npos))
    ++end;
  return text.substr(0, end);
}

std::string_view ipv4_at(std::string_view text) {
  std::string_view rest = text;
  std::uint32_t sum = 0;
  for (int part = 0; part < 4; ++part) {
    if (part > 0) {
      if (!rest.starts_with('.')) return {};
      rest.remove_prefix(1);
    }
    if (rest.empty() || !is_digit(rest[0])) return {};
    const std::string_view before = rest;
    std::uint32_t value = 0;
    const auto read = std::from_chars(rest.data(), rest.data() + rest.size(), value);
    rest.remove_prefix(static_cast<std::size_t>(read.ptr - rest.data()));
    if (read.ec != std::errc() || value > 255 || before.size() - rest.size() > 3) return {};
    sum += value;
  }
  if (sum == 0 || (!rest.empty() && is_digit(rest[0]))) return {};
  return text.substr(0, text.size() - rest.size());
}

bool may_hold_secret(std::string_view text) {
  constexpr std::array<std::string_view, 10> kWords = {"passw", "passphrase", "psk",  "pwd",   "secret",
                                                       "token", "key",        "pass", "auth:", "auth="};
  return std::ranges::any_of(
      kWords, [text](std::string_view word) { return find_any_case(text, word) != std::string_view::npos; });
}

}  // namespace rookery::proto
