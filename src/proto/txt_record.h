// The TXT record of an announced service taken apart (RFC 6763 §6).
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace rookery::proto {

// immutable value.
struct TxtRecord {
  // In the order of the record. A key without "=" has an empty value. Bytes as sent: a value may be binary.
  std::vector<std::pair<std::string, std::string>> pairs;

  // The value of a key, without regard to case (§6.4); nothing when it is not there.
  std::optional<std::string_view> find(std::string_view key) const&;
  std::optional<std::string_view> find(std::string_view key) const&& = delete;
  bool operator==(const TxtRecord&) const = default;
};

// Reads the record's data: strings that each follow their length in one byte. Zero bytes, and strings of zero
// length, say nothing (§6.1); one without a key is left out; of a key that stands twice the first counts
// (§6.4). A string that is cut off by the end of the data ends the record: what came before it counts.
TxtRecord parse_txt(std::span<const std::byte> data);

// Text from others, fit for a terminal and for JSON: control characters and bytes that are no UTF-8 become
// "?"; at most `most_bytes`, with "…" where it was cut.
std::string printable(std::string_view text, std::size_t most_bytes = 200);

}  // namespace rookery::proto
