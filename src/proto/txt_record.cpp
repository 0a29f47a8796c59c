#include "proto/txt_record.h"

#include <algorithm>

namespace rookery::proto {
namespace {

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

bool same_key(std::string_view a, std::string_view b) {
  return std::ranges::equal(a, b, [](char x, char y) { return lower(x) == lower(y); });
}

// How many bytes the UTF-8 character at the front of `text` has (RFC 3629); 0 when there is none. Characters
// that steer a terminal (C0, DEL, C1) count as none.
std::size_t character_bytes(std::string_view text) {
  const auto byte = [&text](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char first = byte(0);
  if (first < 0x80) return first < 0x20 || first == 0x7f ? 0 : 1;
  const std::size_t bytes = first >= 0xf0 ? 4 : first >= 0xe0 ? 3 : 2;
  if (first < 0xc2 || first > 0xf4 || text.size() < bytes) return 0;
  for (std::size_t i = 1; i < bytes; ++i) {
    if ((byte(i) & 0xc0) != 0x80) return 0;
  }
  const unsigned char second = byte(1);
  if (first == 0xc2 && second < 0xa0) return 0;                                         // C1
  if (first == 0xe0 && second < 0xa0) return 0;                                         // too long a form
  if (first == 0xed && second > 0x9f) return 0;                                         // surrogates
  if (first == 0xf0 && second < 0x90) return 0;                                         // too long a form
  if (first == 0xf4 && second > 0x8f) return 0;                                         // above U+10FFFF
  if (first == 0xe2 && second == 0x80 && byte(2) >= 0xaa && byte(2) <= 0xae) return 0;  // turns text around
  if (first == 0xe2 && second == 0x81 && byte(2) >= 0xa6 && byte(2) <= 0xa9) return 0;  // turns text around
  return bytes;
}

}  // namespace

std::optional<std::string_view> TxtRecord::find(std::string_view key) const& {
  const auto found =
      std::ranges::find_if(pairs, [key](const auto& pair) { return same_key(pair.first, key); });
  if (found == pairs.end()) return std::nullopt;
  return found->second;
}

TxtRecord parse_txt(std::span<const std::byte> data) {
  TxtRecord out;
  while (!data.empty()) {
    const std::size_t length = std::to_integer<std::size_t>(data.front());
    data = data.subspan(1);
    if (length > data.size()) break;
    const std::string_view text(reinterpret_cast<const char*>(data.data()), length);
    data = data.subspan(length);
    const auto equals = text.find('=');
    const std::string_view key = text.substr(0, equals);
    if (key.empty() || std::as_const(out).find(key)) continue;
    out.pairs.emplace_back(key,
                           equals == std::string_view::npos ? std::string_view() : text.substr(equals + 1));
  }
  return out;
}

std::string printable(std::string_view text, std::size_t most_bytes) {
  std::string out;
  while (!text.empty()) {
    const std::size_t bytes = character_bytes(text);
    if (out.size() + std::max<std::size_t>(bytes, 1) > most_bytes) return out + "…";
    if (bytes == 0) {
      out += '?';
    } else {
      out += text.substr(0, bytes);
    }
    text.remove_prefix(std::max<std::size_t>(bytes, 1));
  }
  return out;
}

}  // namespace rookery::proto
