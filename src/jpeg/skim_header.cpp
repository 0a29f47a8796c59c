#include "jpeg/skim_header.h"

#include <algorithm>
#include <numeric>

#include "jpeg/markers.h"
#include "jpeg/standard_tables.h"

namespace rookery::jpeg {
namespace {

constexpr std::size_t kTables = 4;  // T.81 allows four of each kind

struct Component {
  std::uint8_t id = 0;
  int across = 1;  // sampling factors
  int down = 1;
  std::size_t quant = 0;
};

// Reads the segments before the scan. Every step says whether the picture is still one for skimming.
class Reader {
 public:
  explicit Reader(std::span<const std::byte> jpeg)
      : p_(reinterpret_cast<const std::uint8_t*>(jpeg.data())), size_(jpeg.size()) {
    std::copy_n(standard_dc_tables().begin(), 2, dc_.begin());
    std::copy_n(standard_ac_tables().begin(), 2, ac_.begin());
  }

  std::optional<SkimHeader> run() {
    at_ = 2;  // behind SOI
    while (true) {
      while (at_ < size_ && p_[at_] == 0xFF) ++at_;
      if (size_ - at_ < 3) return std::nullopt;
      const std::uint8_t marker = p_[at_];
      const auto length = static_cast<std::size_t>(word(at_ + 1));
      if (length < 2 || size_ - at_ - 1 < length) return std::nullopt;
      const auto segment = std::span(p_ + at_ + 3, length - 2);
      at_ += 1 + length;
      if (marker == kSos) return read_scan(segment) ? std::optional(std::move(header_)) : std::nullopt;
      if (!read_segment(marker, segment)) return std::nullopt;
    }
  }

 private:
  using Segment = std::span<const std::uint8_t>;

  bool read_segment(std::uint8_t marker, Segment s) {
    switch (marker) {
      case kDht:
        return read_huffman(s);
      case kDqt:
        return read_quant(s);
      case kDri:
        header_.restart_interval = s.size() == 2 ? s[0] << 8 | s[1] : 0;
        return s.size() == 2;
      case kApp14:
        // Says which colours the components are, and may say RGB: then no component is luma.
        return false;
      case kSof0:
      case kSof1:
        return read_frame(s);
      default:
        return marker < kSof0 || marker > kSof15;  // progressive and the rest
    }
  }

  // T.81 B.2.4.2
  bool read_huffman(Segment s) {
    while (!s.empty()) {
      if (s.size() < 17) return false;
      const std::size_t id = s[0] & 0x0F;
      const std::size_t kind = s[0] >> 4;
      HuffmanSpec spec;
      std::copy_n(s.begin() + 1, spec.counts.size(), spec.counts.begin());
      const auto symbols = std::accumulate(spec.counts.begin(), spec.counts.end(), std::size_t{0});
      if (id >= kTables || kind > 1 || symbols > spec.symbols.size() || s.size() < 17 + symbols) return false;
      std::copy_n(s.begin() + 17, symbols, spec.symbols.begin());
      (kind == 0 ? dc_ : ac_)[id] = spec;
      s = s.subspan(17 + symbols);
    }
    return true;
  }

  // T.81 B.2.4.1; only the first entry of a table is DC's.
  bool read_quant(Segment s) {
    while (!s.empty()) {
      const std::size_t id = s[0] & 0x0F;
      const bool wide = s[0] >> 4 != 0;
      const std::size_t length = wide ? 129 : 65;
      if (id >= kTables || s.size() < length) return false;
      q0_[id] = wide ? s[1] << 8 | s[2] : s[1];
      s = s.subspan(length);
    }
    return true;
  }

  // T.81 B.2.2
  bool read_frame(Segment s) {
    if (s.size() < 6 || s[0] != 8 || (s[5] != 1 && s[5] != 3)) return false;
    header_.height_px = s[1] << 8 | s[2];
    header_.width_px = s[3] << 8 | s[4];
    header_.components = s[5];
    const auto components = static_cast<std::size_t>(s[5]);
    if (s.size() != 6 + 3 * components) return false;
    for (std::size_t c = 0; c < components; ++c) {
      const auto spec = s.subspan(6 + 3 * c, 3);
      components_[c] = {.id = spec[0], .across = spec[1] >> 4, .down = spec[1] & 0x0F, .quant = spec[2]};
    }
    const auto& [luma, blue, red] = components_;
    if (components == 1) {
      components_[0].across = components_[0].down = 1;  // a scan of one component is not interleaved
      return true;
    }
    // Without a JFIF header, these letters alone mean RGB to libjpeg.
    if (luma.id == 'R' && blue.id == 'G' && red.id == 'B') return false;
    if (luma.id == blue.id || luma.id == red.id || blue.id == red.id) return false;
    return luma.across >= std::max(blue.across, red.across) && luma.down >= std::max(blue.down, red.down);
  }

  // T.81 B.2.3
  bool read_scan(Segment s) {
    const auto components = static_cast<std::size_t>(header_.components);
    if (header_.width_px == 0 || s.size() != 4 + 2 * components || s[0] != components) return false;
    if (s[1 + 2 * components] != 0 || s[2 + 2 * components] != 63 || s[3 + 2 * components] != 0) return false;
    header_.blocks = 0;
    for (std::size_t c = 0; c < components; ++c) {
      const std::size_t dc = s[2 + 2 * c] >> 4;
      const std::size_t ac = s[2 + 2 * c] & 0x0F;
      if (s[1 + 2 * c] != components_[c].id || dc >= kTables || ac >= kTables || !dc_[dc] || !ac_[ac]) {
        return false;
      }
      header_.tables[c] = skim_tables(*dc_[dc], *ac_[ac]);
      if (!header_.tables[c]) return false;
      header_.blocks_of[c] = components_[c].across * components_[c].down;
      header_.blocks += header_.blocks_of[c];
    }
    const Component& luma = components_[0];
    header_.luma_across = luma.across;
    header_.luma_down = luma.down;
    header_.mcus_across = (header_.width_px + 8 * luma.across - 1) / (8 * luma.across);
    header_.mcus_down = (header_.height_px + 8 * luma.down - 1) / (8 * luma.down);
    header_.luma_q0 = luma.quant < kTables ? q0_[luma.quant] : 0;
    header_.scan_begin = at_;
    // T.81 B.2.3 allows ten blocks in an MCU.
    return header_.blocks <= 10 && header_.luma_q0 >= 1 && header_.luma_q0 <= kMaxQ0;
  }

  int word(std::size_t at) const { return p_[at] << 8 | p_[at + 1]; }

  const std::uint8_t* p_;
  std::size_t size_;
  std::size_t at_ = 0;
  SkimHeader header_;
  std::array<Component, 3> components_{};
  std::array<int, kTables> q0_{};
  std::array<std::optional<HuffmanSpec>, kTables> dc_{};
  std::array<std::optional<HuffmanSpec>, kTables> ac_{};
};

}  // namespace

std::optional<SkimHeader> read_skim_header(std::span<const std::byte> jpeg) { return Reader(jpeg).run(); }

}  // namespace rookery::jpeg
