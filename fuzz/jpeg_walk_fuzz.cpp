// Whatever bytes come, walk() ends and does not read past them; what it accepts, the decoder takes without
// harm.
#include <cstdint>
#include <span>
#include <variant>

#include "fuzz/promise.h"
#include "jpeg/luma_grid.h"
#include "jpeg/scale.h"
#include "jpeg/walk.h"

namespace {

using namespace rookery::jpeg;
using rookery::fuzz::require;

constexpr int kDecoded_px = 256 * 256;  // larger ones cost the fuzzer its speed

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto bytes = std::as_bytes(std::span(data, size));
  const WalkResult result = walk(bytes);
  LumaGrid grid;
  const auto* info = std::get_if<PictureInfo>(&result);
  if (info == nullptr) {
    const auto kind = std::get<BrokenKind>(result);
    require(name_of(kind) != "unknown", "every kind has a word");
    require(!compute_luma_grid(bytes, grid).has_value(), "a broken picture has no luma grid");
    return 0;
  }
  require(info->width_px > 0 && info->width_px <= kMaxSide_px, "the width is within its bound");
  require(info->height_px > 0 && info->height_px <= kMaxSide_px, "the height is within its bound");
  require(info->components == 1 || info->components == 3, "one component or three");
  require(info->padding_bytes < size, "padding is part of the bytes");
  if (info->width_px * info->height_px > kDecoded_px) return 0;

  if (compute_luma_grid(bytes, grid)) {
    require(grid.width == (info->width_px + 7) / 8 && grid.height == (info->height_px + 7) / 8,
            "a cell per 8×8 block");
    require(grid.cells.size() == static_cast<std::size_t>(grid.width) * static_cast<std::size_t>(grid.height),
            "as many cells as rows times columns");
  }
  const auto scaled = compute_scaled(bytes, (info->width_px + 1) / 2, 50);
  if (scaled && *scaled) {
    require(std::holds_alternative<PictureInfo>(walk(**scaled)), "what we encode is a whole picture");
  }
  return 0;
}
