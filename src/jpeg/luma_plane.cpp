#include "jpeg/luma_plane.h"

#include "jpeg/codec.h"

namespace rookery::jpeg {
namespace {

constexpr std::string_view kWhere = "luma of a picture";
constexpr std::uint8_t kMidGrey = 128;  // where the decoder gave up; it fills up with the same itself

}  // namespace

base::Result<void> compute_luma_plane(std::span<const std::byte> jpeg, LumaPlane& out) {
  const auto info = walked(jpeg, kWhere);
  if (!info) return info.error();
  out.width_px = info->width_px;
  out.height_px = info->height_px;
  out.pixels.assign(static_cast<std::size_t>(out.width_px) * static_cast<std::size_t>(out.height_px),
                    kMidGrey);
  auto* const decoder = thread_decoder(*info);
  const int failed = tjDecompress2(decoder, as_uchar(jpeg), jpeg.size(), out.pixels.data(), out.width_px, 0,
                                   out.height_px, TJPF_GRAY, TJFLAG_LIMITSCANS);
  if (failed != 0 && !only_warned(decoder)) return decoder_error(decoder, kWhere);
  out.damaged = failed != 0;
  return base::ok();
}

}  // namespace rookery::jpeg
