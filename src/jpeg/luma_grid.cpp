#include "jpeg/luma_grid.h"

#include "jpeg/codec.h"
#include "jpeg/dc_skim.h"

namespace rookery::jpeg {
namespace {

constexpr std::string_view kWhere = "luma grid";
constexpr std::uint8_t kMidGrey = 128;  // where the decoder gave up; it fills up with the same itself
constexpr tjscalingfactor kEighth = {1, 8};

// By libjpeg-turbo, which takes every kind and fills in where data is damaged.
base::Result<void> decode_luma_grid(std::span<const std::byte> jpeg, const PictureInfo& info, LumaGrid& out) {
  out.width = TJSCALED(info.width_px, kEighth);
  out.height = TJSCALED(info.height_px, kEighth);
  out.cells.assign(static_cast<std::size_t>(out.width) * static_cast<std::size_t>(out.height), kMidGrey);
  auto* const decoder = thread_decoder(info);
  // TJFLAG_LIMITSCANS: a progressive picture of thousands of empty scans is refused instead of decoded for
  // minutes.
  const int failed = tjDecompress2(decoder, as_uchar(jpeg), jpeg.size(), out.cells.data(), out.width, 0,
                                   out.height, TJPF_GRAY, TJFLAG_LIMITSCANS);
  if (failed != 0 && !only_warned(decoder)) return decoder_error(decoder, kWhere);
  out.damaged = failed != 0;
  return base::ok();
}

// Makes a grid of what the skimmer left.
base::Result<void> complete(std::span<const std::byte> jpeg, const PictureInfo& info, SkimResult skimmed,
                            LumaGrid& out) {
  out.damaged = false;
  if (skimmed == SkimResult::done) return base::ok();
  if (auto decoded = decode_luma_grid(jpeg, info, out); !decoded) return decoded;
  out.damaged = out.damaged || skimmed == SkimResult::damaged;
  return base::ok();
}

}  // namespace

base::Result<void> compute_luma_grid(std::span<const std::byte> jpeg, LumaGrid& out) {
  const auto info = walked(jpeg, kWhere);
  if (!info) return info.error();
  return complete(jpeg, *info, skim_luma_grid(jpeg, out), out);
}

LumaGridPair compute_luma_grids(std::span<const std::byte> first, LumaGrid& first_out,
                                std::span<const std::byte> second, LumaGrid& second_out) {
  const auto first_info = walked(first, kWhere);
  const auto second_info = walked(second, kWhere);
  if (!first_info || !second_info) {
    return {compute_luma_grid(first, first_out), compute_luma_grid(second, second_out)};
  }
  const auto [a, b] = skim_luma_grids({first, &first_out}, {second, &second_out});
  return {complete(first, *first_info, a, first_out), complete(second, *second_info, b, second_out)};
}

}  // namespace rookery::jpeg
