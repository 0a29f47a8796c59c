// Real JPEG pictures for tests, made by libjpeg-turbo: a grey slope and a bright square whose place follows
// the number, so that every picture differs and moves.
#pragma once

#include <cstddef>
#include <cstdint>
#include <stdexcept>
#include <vector>

#include <turbojpeg.h>

namespace rookery::test {

// rgb: 3 bytes a pixel, row by row.
inline std::vector<std::byte> encode_picture(const std::vector<std::uint8_t>& rgb, int width_px,
                                             int height_px, int quality) {
  tjhandle encoder = tjInitCompress();
  unsigned char* jpeg = nullptr;
  unsigned long size = 0;
  const int done = tjCompress2(encoder, rgb.data(), width_px, 0, height_px, TJPF_RGB, &jpeg, &size,
                               TJSAMP_422, quality, TJFLAG_FASTDCT);
  if (done != 0) throw std::runtime_error(tjGetErrorStr2(encoder));
  const auto* first = reinterpret_cast<const std::byte*>(jpeg);
  std::vector<std::byte> bytes(first, first + size);
  tjFree(jpeg);
  tjDestroy(encoder);
  return bytes;
}

// One shade of grey, 0 to 255, all over.
inline std::vector<std::byte> make_flat_picture(int width_px, int height_px, std::uint8_t grey) {
  return encode_picture(std::vector<std::uint8_t>(static_cast<std::size_t>(width_px) * height_px * 3, grey),
                        width_px, height_px, 80);
}

inline std::vector<std::byte> make_picture(int width_px, int height_px, unsigned number, int quality = 80) {
  std::vector<std::uint8_t> rgb(static_cast<std::size_t>(width_px) * height_px * 3);
  const int side = height_px / 4;
  const int left = static_cast<int>(number * 7 % static_cast<unsigned>(width_px - side));
  const int top = static_cast<int>(number * 3 % static_cast<unsigned>(height_px - side));
  for (int y = 0; y < height_px; ++y) {
    for (int x = 0; x < width_px; ++x) {
      const bool square = x >= left && x < left + side && y >= top && y < top + side;
      const auto grey = static_cast<std::uint8_t>(square ? 235 : 40 + 100 * x / width_px);
      auto* pixel = &rgb[(static_cast<std::size_t>(y) * width_px + x) * 3];
      pixel[0] = grey;
      pixel[1] = square ? grey : static_cast<std::uint8_t>(40 + 100 * y / height_px);
      pixel[2] = static_cast<std::uint8_t>(number);
    }
  }
  return encode_picture(rgb, width_px, height_px, quality);
}

}  // namespace rookery::test
