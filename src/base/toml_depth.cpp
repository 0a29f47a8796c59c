#include "base/toml_depth.h"

#include <algorithm>

#include <fmt/format.h>

namespace rookery::base {
namespace {

// Where a string that begins at `at` ends: behind its last quote, or at the line's end when it has none.
std::size_t end_of_string(std::string_view text, std::size_t at) {
  const char quote = text[at];
  const std::string_view three = quote == '"' ? "\"\"\"" : "'''";
  const bool lines = text.substr(at, 3) == three;
  at += lines ? 3 : 1;
  while (at < text.size()) {
    if (quote == '"' && text[at] == '\\') {
      at += 2;
    } else if (!lines && (text[at] == quote || text[at] == '\n')) {
      return text[at] == quote ? at + 1 : at;
    } else if (lines && text.substr(at, 3) == three) {
      at += 3;
      // Up to two quotes more belong to the string's own end.
      for (int more = 0; more < 2 && at < text.size() && text[at] == quote; ++more) ++at;
      return at;
    } else {
      ++at;
    }
  }
  return text.size();
}

}  // namespace

std::optional<std::size_t> too_deep_line(std::string_view toml) {
  std::size_t line = 1;
  std::size_t open = 0;   // brackets of both kinds
  std::size_t names = 1;  // in what may be a key; a number's point counts as well, which does no harm
  for (std::size_t at = 0; at < toml.size();) {
    const char c = toml[at];
    std::size_t next = at + 1;
    if (c == '"' || c == '\'') {
      next = std::min(end_of_string(toml, at), toml.size());
      line += static_cast<std::size_t>(std::count(toml.begin() + static_cast<std::ptrdiff_t>(at),
                                                  toml.begin() + static_cast<std::ptrdiff_t>(next), '\n'));
    } else if (c == '#') {
      next = std::min(toml.find('\n', at), toml.size());
    } else if (c == '.') {
      if (++names > kDeepestToml) return line;
    } else if (c == '[' || c == '{') {
      names = 1;
      if (++open > kDeepestToml) return line;
    } else if (c == ']' || c == '}') {
      if (open > 0) --open;
    } else if (c == '=' || c == ',' || c == '\n') {
      names = 1;
      if (c == '\n') ++line;
    }
    at = next;
  }
  return std::nullopt;
}

Error too_deep_error(std::string_view where, std::size_t line) {
  return {ErrorCode::malformed, fmt::format("{} line {}", where, line),
          fmt::format("nests deeper than {}, counting a key's names and open brackets", kDeepestToml),
          "Take it apart: no value stands that deep."};
}

}  // namespace rookery::base
