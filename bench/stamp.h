// The moment of sending inside a JPEG: a comment segment (COM, T.81 B.2.4.5) right after SOI.
#pragma once

#include <chrono>
#include <cstdint>
#include <cstring>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

namespace rookery::bench {

inline constexpr std::string_view kStampMark = "SENT-AT ";
using MonoTime = std::chrono::steady_clock::time_point;

// `jpeg` with the stamp added. The clock is the computer's: reader and writer run on one machine.
inline std::vector<std::uint8_t> with_stamp(const std::vector<std::uint8_t>& jpeg, MonoTime now) {
  const std::uint64_t ticks = static_cast<std::uint64_t>(now.time_since_epoch().count());
  const std::size_t length = 2 + kStampMark.size() + sizeof ticks;
  std::vector<std::uint8_t> out;
  out.reserve(jpeg.size() + length + 2);
  out.insert(out.end(), {0xFF, 0xD8, 0xFF, 0xFE, static_cast<std::uint8_t>(length >> 8),
                         static_cast<std::uint8_t>(length)});
  out.insert(out.end(), kStampMark.begin(), kStampMark.end());
  const auto* bytes = reinterpret_cast<const std::uint8_t*>(&ticks);
  out.insert(out.end(), bytes, bytes + sizeof ticks);
  out.insert(out.end(), jpeg.begin() + 2, jpeg.end());
  return out;
}

// The stamp of a picture made by with_stamp; nothing for any other.
inline std::optional<MonoTime> read_stamp(std::span<const std::byte> jpeg) {
  constexpr std::size_t kAt = 6;
  std::uint64_t ticks = 0;
  if (jpeg.size() < kAt + kStampMark.size() + sizeof ticks) return std::nullopt;
  if (std::memcmp(jpeg.data() + kAt, kStampMark.data(), kStampMark.size()) != 0) return std::nullopt;
  std::memcpy(&ticks, jpeg.data() + kAt + kStampMark.size(), sizeof ticks);
  return MonoTime(MonoTime::duration(static_cast<MonoTime::rep>(ticks)));
}

}  // namespace rookery::bench
