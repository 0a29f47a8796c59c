#include "web/byte_range.h"

#include <algorithm>
#include <charconv>
#include <optional>

namespace rookery::web {
namespace {

std::optional<std::uint64_t> number(std::string_view text) {
  std::uint64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (text.empty() || error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return value;
}

}  // namespace

RangeChoice choose_range(std::string_view field, std::uint64_t size) {
  constexpr std::string_view kUnit = "bytes=";
  const RangeChoice whole{RangeChoice::whole, 0, size};
  const RangeChoice none{RangeChoice::none_such, 0, 0};
  if (!field.starts_with(kUnit)) return whole;
  field.remove_prefix(kUnit.size());
  const std::size_t dash = field.find('-');
  if (dash == std::string_view::npos || field.find(',') != std::string_view::npos) return whole;
  const auto first = number(field.substr(0, dash));
  const auto last = number(field.substr(dash + 1));
  if (dash == 0) {  // "-500": the last 500 bytes
    if (!last) return whole;
    if (*last == 0 || size == 0) return none;
    const std::uint64_t length = std::min(*last, size);
    return {RangeChoice::part, size - length, length};
  }
  if (!first || (!last && dash + 1 != field.size()) || (last && *last < *first)) return whole;
  if (*first >= size) return none;
  const std::uint64_t end = last ? std::min(*last, size - 1) : size - 1;
  return {RangeChoice::part, *first, end - *first + 1};
}

}  // namespace rookery::web
