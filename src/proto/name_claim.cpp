#include "proto/name_claim.h"

#include <algorithm>
#include <cstdint>
#include <optional>

namespace rookery::proto {
namespace {

constexpr std::size_t kHeader = 12;         // RFC 1035 §4.1.1
constexpr std::uint16_t kNoQuery = 0xf800;  // bit of an answer, and the kind of query: 0 (RFC 6762 §18.3)
constexpr std::uint16_t kAny = 255;         // a probe asks for all that has the name (RFC 6762 §8.1)
constexpr std::size_t kMostName = 255;      // RFC 1035 §2.3.4
constexpr int kMostJumps = 32;              // a name of 255 bytes has fewer labels to point from; chosen
constexpr std::size_t kMostQuestions = 32;  // a board claims its host name and some services; chosen

std::uint16_t word(std::span<const std::byte> packet, std::size_t at) {
  return static_cast<std::uint16_t>(std::to_integer<unsigned>(packet[at]) << 8 |
                                    std::to_integer<unsigned>(packet[at + 1]));
}

char to_lower(std::byte byte) {
  const auto c = std::to_integer<char>(byte);
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

// Reads the name at `at`, which then is behind it. Nothing when it runs out of the packet or is none.
std::optional<std::string> take_name(std::span<const std::byte> packet, std::size_t& at) {
  std::string out;
  std::size_t read = at;
  bool jumped = false;
  for (int jumps = 0; jumps < kMostJumps;) {
    if (read >= packet.size()) return std::nullopt;
    const auto length = std::to_integer<std::size_t>(packet[read]);
    if (length >= 0xc0) {  // the rest stands elsewhere (RFC 1035 §4.1.4)
      if (read + 2 > packet.size()) return std::nullopt;
      if (!jumped) at = read + 2;
      jumped = true;
      ++jumps;
      read = word(packet, read) & 0x3fff;
      continue;
    }
    if (length > 63 || read + 1 + length > packet.size()) return std::nullopt;
    if (length == 0) {
      if (!jumped) at = read + 1;
      return out;
    }
    if (!out.empty()) out += '.';
    for (std::size_t n = 0; n < length; ++n) out += to_lower(packet[read + 1 + n]);
    if (out.size() > kMostName) return std::nullopt;
    read += 1 + length;
  }
  return std::nullopt;
}

}  // namespace

std::vector<std::string> claimed_names(std::span<const std::byte> packet) {
  std::vector<std::string> out;
  if (packet.size() < kHeader || (word(packet, 2) & kNoQuery) != 0) return out;
  const std::size_t questions = std::min<std::size_t>(word(packet, 4), kMostQuestions);
  const bool proposes = word(packet, 8) > 0;  // what it wants to be known by, as authority
  if (!proposes) return out;
  std::size_t at = kHeader;
  for (std::size_t n = 0; n < questions; ++n) {
    auto name = take_name(packet, at);
    if (!name || at + 4 > packet.size()) break;
    const bool any = word(packet, at) == kAny;
    at += 4;
    if (any && !name->empty() && std::ranges::find(out, *name) == out.end()) out.push_back(std::move(*name));
  }
  return out;
}

}  // namespace rookery::proto
