#include "archive/ebml.h"

#include <bit>

extern "C" {
#include <libavutil/crc.h>
}

namespace rookery::archive::ebml {

std::optional<Vint> read_vint(std::span<const std::byte> bytes) {
  if (bytes.empty() || bytes[0] == std::byte{0}) return std::nullopt;
  const auto first = std::to_integer<std::uint8_t>(bytes[0]);
  const auto length = static_cast<std::size_t>(std::countl_zero(first)) + 1;
  if (bytes.size() < length) return std::nullopt;
  std::uint64_t value = first & (0xFFu >> length);
  for (std::size_t i = 1; i < length; ++i) value = value << 8 | std::to_integer<std::uint8_t>(bytes[i]);
  return Vint{value, length, value == (std::uint64_t{1} << 7 * length) - 1};
}

std::span<const std::byte> Window::bytes(std::uint64_t at, std::size_t count) & {
  if (count > kSpan_bytes || at > limit_ || count > limit_ - at) return {};
  if (at < start_ || at + count > start_ + filled_) {
    start_ = at;
    filled_ = source_.read_at(at, std::span{held_}.first(std::min<std::uint64_t>(kSpan_bytes, limit_ - at)));
  }
  if (at + count > start_ + filled_) return {};
  return std::span{held_}.subspan(at - start_, count);
}

std::optional<Element> Window::element(std::uint64_t at) {
  if (at >= limit_) return std::nullopt;
  const std::size_t most = std::min<std::uint64_t>(12, limit_ - at);
  const auto head = bytes(at, most);
  const auto id = read_vint(head);
  if (!id || id->length > 4) return std::nullopt;
  Element element;
  element.at = at;
  for (std::size_t i = 0; i < id->length; ++i)
    element.id = element.id << 8 | std::to_integer<std::uint32_t>(head[i]);
  const auto size = read_vint(head.subspan(id->length));
  if (!size) return std::nullopt;
  element.body = at + id->length + size->length;
  if (!size->unknown) element.size = size->value;
  return element;
}

std::optional<std::uint64_t> Window::unsigned_of(const Element& element) {
  if (!element.size || *element.size > 8) return std::nullopt;
  const auto content = bytes(element.body, *element.size);
  if (content.size() != *element.size) return std::nullopt;
  std::uint64_t value = 0;
  for (const std::byte byte : content) value = value << 8 | std::to_integer<std::uint8_t>(byte);
  return value;
}

std::optional<std::int64_t> Window::signed_of(const Element& element) {
  const auto raw = unsigned_of(element);
  if (!raw || *element.size == 0) return raw ? std::optional<std::int64_t>{0} : std::nullopt;
  const auto unused = static_cast<int>(64 - 8 * *element.size);
  return static_cast<std::int64_t>(*raw << unused) >> unused;
}

std::optional<std::string> Window::text_of(const Element& element, std::size_t most) {
  if (!element.size || *element.size > most || element.end() > limit_) return std::nullopt;
  std::string text(*element.size, '\0');
  if (source_.read_at(element.body, std::as_writable_bytes(std::span{text})) != text.size())
    return std::nullopt;
  text.resize(text.find_last_not_of('\0') + 1);  // RFC 8794 section 7.4: zeros end a string
  return text;
}

std::uint32_t compute_crc32(std::span<const std::byte> bytes) {
  static const AVCRC* const table = av_crc_get_table(AV_CRC_32_IEEE_LE);
  return ~av_crc(table, 0xFFFFFFFFu, reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
}

}  // namespace rookery::archive::ebml
