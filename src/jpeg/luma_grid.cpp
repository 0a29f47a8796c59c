#include "jpeg/luma_grid.h"

#include "jpeg/codec.h"

namespace rookery::jpeg {
namespace {

constexpr std::string_view kWhere = "luma grid";
constexpr tjscalingfactor kEighth = {1, 8};

}  // namespace

base::Result<void> compute_luma_grid(std::span<const std::byte> jpeg, LumaGrid& out) {
  const auto info = walked(jpeg, kWhere);
  if (!info) return info.error();
  out.width = TJSCALED(info->width_px, kEighth);
  out.height = TJSCALED(info->height_px, kEighth);
  out.cells.resize(static_cast<std::size_t>(out.width) * static_cast<std::size_t>(out.height));
  const tjhandle decoder = thread_decoder();
  // TJFLAG_LIMITSCANS: a progressive picture of thousands of empty scans is refused instead of decoded for
  // minutes.
  const int failed = tjDecompress2(decoder, as_uchar(jpeg), jpeg.size(), out.cells.data(), out.width, 0,
                                   out.height, TJPF_GRAY, TJFLAG_LIMITSCANS);
  if (failed != 0 && !only_warned(decoder)) return decoder_error(decoder, kWhere);
  out.damaged = failed != 0;
  return base::ok();
}

}  // namespace rookery::jpeg
