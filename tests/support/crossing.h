// A film in which one thing crosses: ground with a pattern, and a block with another one that goes from left
// to right at mid height; with a little noise, as a sensor has. A function of the time.
#pragma once

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <stdexcept>
#include <vector>

#include <turbojpeg.h>

namespace rookery::test {

inline constexpr int kCrossingWidth_px = 320;
inline constexpr int kCrossingHeight_px = 240;
inline constexpr int kCrossingFrom_s = 12;  // the block is in the picture from here …
inline constexpr int kCrossingTo_s = 17;    // … to here
inline constexpr int kCrossingFilm_s = 26;

inline std::vector<std::byte> crossing_at(double at_s, int width_px = kCrossingWidth_px,
                                          int height_px = kCrossingHeight_px) {
  const int side = height_px / 4;
  const double way = (at_s - kCrossingFrom_s) / (kCrossingTo_s - kCrossingFrom_s);
  const int left = static_cast<int>(way * (width_px + side)) - side;
  const int top = (height_px - side) / 2;
  std::vector<int> across;
  for (int x = 0; x < width_px; ++x) across.push_back(static_cast<int>(45 * std::sin(x / 23.0)));
  auto random = static_cast<std::uint32_t>(at_s * 1000) * 2 + 1;
  std::vector<std::uint8_t> grey(static_cast<std::size_t>(width_px) * static_cast<std::size_t>(height_px));
  for (int y = 0; y < height_px; ++y) {
    const int down = static_cast<int>(256 * std::cos(y / 17.0));
    for (int x = 0; x < width_px; ++x) {
      const bool block = way >= 0 && way <= 1 && x >= left && x < left + side && y >= top && y < top + side;
      const int ground = 120 + across[static_cast<std::size_t>(x)] * down / 256;
      const int thing = 60 + 60 * (((x - left) / 16 + (y - top) / 16) % 2);
      random = random * 1664525 + 1013904223;
      const int noise = static_cast<int>(random >> 29) - 4;
      grey[static_cast<std::size_t>(y * width_px + x)] =
          static_cast<std::uint8_t>((block ? thing : ground) + noise);
    }
  }
  const tjhandle encoder = tjInitCompress();
  unsigned char* jpeg = nullptr;
  unsigned long size = 0;
  if (tjCompress2(encoder, grey.data(), width_px, 0, height_px, TJPF_GRAY, &jpeg, &size, TJSAMP_GRAY, 80,
                  0) != 0)
    throw std::runtime_error(tjGetErrorStr2(encoder));
  const auto* first = reinterpret_cast<const std::byte*>(jpeg);
  std::vector<std::byte> bytes(first, first + size);
  tjFree(jpeg);
  tjDestroy(encoder);
  return bytes;
}

}  // namespace rookery::test
