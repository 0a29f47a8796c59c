// What libjpeg-turbo makes of a picture at an eighth: the truth for the skimmer.
#pragma once

#include <cstddef>
#include <span>

#include <turbojpeg.h>

#include "jpeg/luma_grid.h"

namespace rookery::jpeg {

// libjpeg-turbo's own grid, from a decoder that has seen nothing else. failed: nothing was decoded.
struct Reference {
  LumaGrid grid;  // damaged: it warned
  bool failed = false;
};

inline Reference decode_eighth(std::span<const std::byte> jpeg) {
  Reference r;
  const tjhandle decoder = tjInitDecompress();
  const auto* bytes = reinterpret_cast<const unsigned char*>(jpeg.data());
  int width_px = 0, height_px = 0, sampling = 0, colours = 0;
  tjDecompressHeader3(decoder, bytes, jpeg.size(), &width_px, &height_px, &sampling, &colours);
  r.grid.width = (width_px + 7) / 8;
  r.grid.height = (height_px + 7) / 8;
  r.grid.cells.resize(static_cast<std::size_t>(r.grid.width) * static_cast<std::size_t>(r.grid.height));
  const int failed = tjDecompress2(decoder, bytes, jpeg.size(), r.grid.cells.data(), r.grid.width, 0,
                                   r.grid.height, TJPF_GRAY, TJFLAG_LIMITSCANS);
  r.grid.damaged = failed != 0;
  r.failed = failed != 0 && tjGetErrorCode(decoder) != TJERR_WARNING;
  tjDestroy(decoder);
  return r;
}

}  // namespace rookery::jpeg
