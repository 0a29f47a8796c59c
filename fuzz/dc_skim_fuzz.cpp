// Whatever picture comes, the skimmer ends and does not read past it; what it finds nothing amiss in, it
// reads as libjpeg-turbo does; and a picture skimmed in turns with another one gives what it gives alone.
#include <cstdint>
#include <span>
#include <variant>
#include <vector>

#include "fuzz/promise.h"
#include "jpeg/dc_skim.h"
#include "jpeg/walk.h"
#include "tests/jpeg/decode_eighth.h"

namespace {

using namespace rookery::jpeg;
using rookery::fuzz::require;

constexpr int kDecoded_px = 256 * 256;  // larger ones cost the fuzzer its speed

// The input before, to be skimmed in turns with.
std::vector<std::byte>& last_picture() {
  static std::vector<std::byte> bytes;
  return bytes;
}

void skim_in_turns(std::span<const std::byte> bytes, SkimResult alone, const LumaGrid& grid) {
  LumaGrid first, second;
  const auto [result, other] = skim_luma_grids({bytes, &first}, {last_picture(), &second});
  require(result == alone, "in turns and alone end alike");
  require(alone != SkimResult::done || first.cells == grid.cells, "in turns and alone give the same");
  const auto [again_other, again] = skim_luma_grids({last_picture(), &second}, {bytes, &first});
  require(again == alone && again_other == other, "whose turn is first does not matter");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto bytes = std::as_bytes(std::span(data, size));
  const WalkResult walked = walk(bytes);
  const auto* info = std::get_if<PictureInfo>(&walked);
  if (info == nullptr || info->width_px * info->height_px > kDecoded_px) return 0;
  LumaGrid grid;
  const SkimResult result = skim_luma_grid(bytes, grid);
  // TurboJPEG takes the largest scale that fits the cells asked for: 1/8 for all but a few pixels.
  if (result == SkimResult::done && (info->width_px > 4 || info->height_px > 4)) {
    const Reference reference = decode_eighth(bytes);
    require(reference.failed || (grid.width == reference.grid.width && grid.height == reference.grid.height),
            "the grid has the decoder's size");
    require(reference.failed || grid.cells == reference.grid.cells, "the grid is the decoder's");
  }
  if (!last_picture().empty()) skim_in_turns(bytes, result, grid);
  last_picture().assign(bytes.begin(), bytes.end());
  return 0;
}
