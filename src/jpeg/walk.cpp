#include "jpeg/walk.h"

#include <array>
#include <cstring>

#include "jpeg/markers.h"
#include "jpeg/quality.h"

namespace rookery::jpeg {
namespace {

// The place of the first 0xFF that no stuffed zero follows, or size when there is none before the last byte.
// Blocks without such a pair, nearly all, cost one comparison a byte, which the compiler does 16 or 32 at a
// time; a memchr for every 0xFF would stop at each stuffed one, about every 100 bytes.
std::size_t find_marker(const std::uint8_t* p, std::size_t from, std::size_t size) {
  constexpr std::size_t kBlock = 64;
  std::size_t i = from;
  while (i + kBlock < size) {
    std::uint8_t any = 0;
    for (std::size_t k = 0; k < kBlock; ++k) {
      any |= static_cast<std::uint8_t>((p[i + k] == 0xFF) & (p[i + k + 1] != 0));
    }
    if (any) break;
    i += kBlock;
  }
  for (; i + 1 < size; ++i) {
    if (p[i] == 0xFF && p[i + 1] != 0) return i;
  }
  return size;
}

bool starts_with(std::span<const std::byte> bytes, std::string_view text) {
  return bytes.size() >= text.size() && std::memcmp(bytes.data(), text.data(), text.size()) == 0;
}

// What bytes without SOI are: something else on purpose, or a picture that lost its beginning.
BrokenKind kind_without_start(std::span<const std::byte> bytes) {
  using namespace std::string_view_literals;
  for (const auto mark : {"\x89PNG"sv, "GIF8"sv, "BM"sv, "RIFF"sv,
                          "\0\0\0\x0C"
                          "jP"sv}) {
    if (starts_with(bytes, mark)) return BrokenKind::not_a_picture;
  }
  constexpr std::size_t kLook = 32;  // enough to tell text from picture data
  for (const auto byte : bytes.first(std::min(bytes.size(), kLook))) {
    const auto c = static_cast<unsigned char>(byte);
    const bool text = (c >= 0x20 && c != 0x7F && c != 0xFF) || c == '\t' || c == '\r' || c == '\n';
    if (!text) return BrokenKind::no_start;
  }
  return BrokenKind::not_a_picture;
}

bool is_padding(std::uint8_t c) { return c == 0x00 || c == 0xFF || c == '\r' || c == '\n'; }

// One walk. Every step returns nothing to go on, or what is wrong.
class Walker {
 public:
  using Wrong = std::optional<BrokenKind>;

  explicit Walker(std::span<const std::byte> bytes)
      : p_(reinterpret_cast<const std::uint8_t*>(bytes.data())), size_(bytes.size()) {}

  WalkResult run() {
    at_ = 2;  // behind SOI
    while (true) {
      std::uint8_t marker = 0;
      if (const auto wrong = read_marker(marker)) return *wrong;
      if (marker == kEoi) return finish();
      if (const auto wrong = read_segment(marker)) return *wrong;
    }
  }

 private:
  Wrong read_marker(std::uint8_t& marker) {
    if (at_ >= size_) return BrokenKind::no_end;
    if (p_[at_] != 0xFF) return BrokenKind::bad_marker;
    while (at_ < size_ && p_[at_] == 0xFF) ++at_;  // fill bytes, T.81 B.1.1.2
    if (at_ >= size_) return BrokenKind::no_end;
    marker = p_[at_++];
    return std::nullopt;
  }

  Wrong read_segment(std::uint8_t marker) {
    const bool named =
        (marker >= kSof0 && marker <= kSof15) || (marker >= kSos && marker <= kApp15) || marker == kCom;
    if (!named) return BrokenKind::bad_marker;  // RSTn, SOI, TEM and reserved ones have no place here
    if (size_ - at_ < 2) return BrokenKind::no_end;
    const std::size_t length = word(at_);
    if (length < 2) return BrokenKind::bad_length;
    if (size_ - at_ < length) return BrokenKind::no_end;
    const std::size_t begin = at_ + 2;
    at_ += length;
    switch (marker) {
      case kDqt:
        return read_quant_tables(begin);
      case kDri:
        if (at_ - begin != 2) return BrokenKind::bad_length;
        info_.restart_interval = static_cast<int>(word(begin));
        return std::nullopt;
      case kSos:
        return read_scan(begin);
      case kDhp:
      case kExp:
      case kDac:
      case kJpg:
        return BrokenKind::unsupported;
      case kDht:
        info_.huffman_tables = true;
        return std::nullopt;
      case kDnl:
        return std::nullopt;
      default:
        if (marker >= kSof0 && marker <= kSof15) return read_frame_header(marker, begin);
        return std::nullopt;  // APPn, COM: whatever they hold, thumbnails included
    }
  }

  // T.81 B.2.4.1
  Wrong read_quant_tables(std::size_t i) {
    while (i < at_) {
      const int precision = p_[i] >> 4;
      const unsigned id = p_[i] & 0x0F;
      if (precision > 1 || id > 3) return BrokenKind::bad_length;
      const std::size_t width = precision == 0 ? 1 : 2;
      ++i;
      if (at_ - i < 64 * width) return BrokenKind::bad_length;
      tables_ |= 1u << id;
      table_at_[id] = i;
      table_wide_[id] = precision == 1;
      i += 64 * width;
    }
    return std::nullopt;
  }

  // T.81 B.2.2
  Wrong read_frame_header(std::uint8_t marker, std::size_t i) {
    if (has_frame_) return BrokenKind::bad_marker;
    if (at_ - i < 6) return BrokenKind::bad_length;
    info_.bits = p_[i];
    info_.height_px = static_cast<int>(word(i + 1));
    info_.width_px = static_cast<int>(word(i + 3));
    info_.components = p_[i + 5];
    if (marker != kSof0 && marker != kSof1 && marker != kSof2) return BrokenKind::unsupported;
    if (info_.bits != 8) return BrokenKind::unsupported;
    if (info_.components != 1 && info_.components != 3) return BrokenKind::unsupported;
    const auto components = static_cast<std::size_t>(info_.components);
    if (at_ - i != 6 + 3 * components) return BrokenKind::bad_length;
    if (info_.width_px == 0 || info_.height_px == 0) return BrokenKind::size_zero;
    if (info_.width_px > kMaxSide_px || info_.height_px > kMaxSide_px ||
        info_.width_px * info_.height_px > kMaxPicture_px) {
      return BrokenKind::too_large;
    }
    info_.progressive = marker == kSof2;
    for (std::size_t c = 0; c < components; ++c) {
      const std::uint8_t* spec = p_ + i + 6 + 3 * c;
      const int h = spec[1] >> 4;
      const int v = spec[1] & 0x0F;
      if (h < 1 || h > 4 || v < 1 || v > 4 || spec[2] > 3) return BrokenKind::bad_length;
      ids_[c] = spec[0];
      factors_[c] = spec[1];
      table_of_[c] = spec[2];
    }
    info_.sampling = sampling();
    has_frame_ = true;
    return std::nullopt;
  }

  // Only the ratios count: some encoders write 4:2:2 as 2×2 with 1×2.
  Sampling sampling() const {
    if (info_.components == 1) return Sampling::gray;
    const int across = factors_[0] >> 4;
    const int down = factors_[0] & 0x0F;
    const int colour_across = factors_[1] >> 4;
    const int colour_down = factors_[1] & 0x0F;
    if (factors_[1] != factors_[2] || across % colour_across != 0 || down % colour_down != 0) {
      return Sampling::other;
    }
    switch (across / colour_across * 10 + down / colour_down) {
      case 11:
        return Sampling::s444;
      case 21:
        return Sampling::s422;
      case 22:
        return Sampling::s420;
      case 12:
        return Sampling::s440;
      case 41:
        return Sampling::s411;
      default:
        return Sampling::other;
    }
  }

  // T.81 B.2.3, then the entropy-coded data up to the marker that is not part of it.
  Wrong read_scan(std::size_t i) {
    if (!has_frame_) return BrokenKind::no_frame_header;
    const std::size_t length = at_ - i;
    if (length < 1) return BrokenKind::bad_length;
    const std::size_t components = p_[i];
    if (components < 1 || components > static_cast<std::size_t>(info_.components)) {
      return BrokenKind::bad_length;
    }
    if (length != 4 + 2 * components) return BrokenKind::bad_length;
    for (std::size_t c = 0; c < components; ++c) {
      if (const auto wrong = check_component(p_[i + 1 + 2 * c])) return wrong;
    }
    const std::size_t begin = at_;
    unsigned next_restart = 0;
    while (true) {
      at_ = find_marker(p_, at_, size_);
      if (at_ >= size_) return BrokenKind::no_end;
      const std::uint8_t code = p_[at_ + 1];
      if (code == 0xFF) {  // a fill byte before the marker
        ++at_;
        continue;
      }
      if (code < kRst0 || code > kRst7) break;
      if (info_.restart_interval == 0) return BrokenKind::bad_marker;
      if (code != kRst0 + next_restart) return BrokenKind::bad_restart;
      next_restart = (next_restart + 1) % 8;
      at_ += 2;
    }
    has_scan_ = has_scan_ || at_ > begin;
    return std::nullopt;
  }

  // A scan's component must be one of the frame, and its quantization table must have come by now.
  Wrong check_component(std::uint8_t id) const {
    for (std::size_t c = 0; c < static_cast<std::size_t>(info_.components); ++c) {
      if (ids_[c] != id) continue;
      if ((tables_ >> table_of_[c] & 1u) == 0) return BrokenKind::no_tables;
      return std::nullopt;
    }
    return BrokenKind::bad_length;
  }

  WalkResult finish() {
    if (!has_frame_) return BrokenKind::no_frame_header;
    if (!has_scan_) return BrokenKind::no_scan;
    info_.padding_bytes = size_ - at_;
    for (std::size_t i = at_; i < size_; ++i) {
      if (!is_padding(p_[i])) return BrokenKind::trailing_data;
    }
    QuantTable luma{};
    const unsigned id = table_of_[0];
    for (std::size_t k = 0; k < luma.size(); ++k) {
      luma[k] =
          table_wide_[id] ? static_cast<std::uint16_t>(word(table_at_[id] + 2 * k)) : p_[table_at_[id] + k];
    }
    info_.quality_estimate = estimate_ijg_quality(luma);
    return info_;
  }

  std::size_t word(std::size_t at) const {
    return static_cast<std::size_t>(p_[at]) << 8 | static_cast<std::size_t>(p_[at + 1]);
  }

  const std::uint8_t* p_;
  std::size_t size_;
  std::size_t at_ = 0;
  PictureInfo info_;
  bool has_frame_ = false;
  bool has_scan_ = false;
  unsigned tables_ = 0;  // bit n: table n was sent
  std::array<std::size_t, 4> table_at_{};
  std::array<bool, 4> table_wide_{};
  std::array<std::uint8_t, 3> ids_{};
  std::array<std::uint8_t, 3> factors_{};
  std::array<std::uint8_t, 3> table_of_{};
};

}  // namespace

WalkResult walk(std::span<const std::byte> bytes) {
  if (bytes.empty()) return BrokenKind::empty;
  if (bytes.size() < 2 || bytes[0] != std::byte{0xFF} || bytes[1] != std::byte{kSoi}) {
    return kind_without_start(bytes);
  }
  return Walker(bytes).run();
}

}  // namespace rookery::jpeg
