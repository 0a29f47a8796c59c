#include "jpeg/skim_data.h"

#include <cstring>

#include "jpeg/markers.h"

namespace rookery::jpeg {
void read_skim_data(std::span<const std::byte> jpeg, std::size_t begin, SkimData& out) {
  const auto* const p = reinterpret_cast<const std::uint8_t*>(jpeg.data());
  const std::size_t size = jpeg.size();
  if (out.bytes.size() < size - begin + SkimData::kSlack_bytes) {
    out.bytes.resize(size - begin + SkimData::kSlack_bytes);
  }
  out.ends.clear();
  out.picture_ends = false;
  std::uint8_t* to = out.bytes.data();
  std::size_t from = begin;
  while (from < size) {
    const auto* const found = static_cast<const std::uint8_t*>(std::memchr(p + from, 0xFF, size - from));
    const std::size_t at = found == nullptr ? size : static_cast<std::size_t>(found - p);
    std::memcpy(to, p + from, at - from);
    to += at - from;
    if (size - at < 2) break;
    const std::uint8_t code = p[at + 1];
    from = at + (code == 0xFF ? 1 : 2);  // a fill byte, or the pair
    if (code == 0) {
      *to++ = 0xFF;
    } else if (code >= kRst0 && code <= kRst7) {
      out.ends.push_back(static_cast<std::size_t>(to - out.bytes.data()));
    } else if (code != 0xFF) {
      out.picture_ends = code == kEoi;
      break;
    }
  }
  out.ends.push_back(static_cast<std::size_t>(to - out.bytes.data()));
  std::memset(to, 0, SkimData::kSlack_bytes);
}

}  // namespace rookery::jpeg
